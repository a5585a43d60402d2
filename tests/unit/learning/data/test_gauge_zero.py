"""What a gauge off its zero is as a gap: half of a diameter's error, all of a leaf's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from springfit.learning.data.gauge_zero import per_side, zero_spread
from springfit.records.reading import read_book
from tests.helpers.books.small_book import sheets, write


@pytest.mark.parametrize(
    ("kinds", "share"),
    [
        (["outside_diameter", "inside_diameter", "axial_at_diameter"], 0.5),
        (["outside_diameter", "wall"], 0.5),  # a wall says nothing of where the bell is
        (["clearance"], 1.0),
        (["clearance", "outside_diameter"], 1.0),
    ],
)
def test_a_gap_is_per_side_and_a_diameter_is_not(kinds: list[str], share: float) -> None:
    assert per_side(pd.Series(kinds)) == share


def test_every_gauge_that_was_read_with_and_no_other(tmp_path: Path) -> None:
    book = read_book(write(tmp_path / "book", sheets()))[0]
    used = book.measurements["gauge_id"].iloc[0]
    stated = float(book.gauges.set_index("gauge_id").loc[used, "repeatability_mm"])
    idle = book.gauges[book.gauges["gauge_id"] == used].assign(gauge_id="IDLE")
    more = replace(book, gauges=pd.concat([idle, book.gauges]))
    kinds = book.measurements[book.measurements["gauge_id"] == used]["kind"]
    assert zero_spread(more)[used] == pytest.approx(per_side(kinds) * stated)
    assert "IDLE" not in zero_spread(more)
