"""What a watch says of a reading or a record in doubt has its lengths in the unit of the shop."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest

from springfit.learning.set_aside import SetAside, UnlikeItsBatch
from springfit.records.reading import read_book
from springfit.reporting.watching_pages.fault_wording import size_words
from springfit.reporting.watching_pages.watch_tables import BELL_COLUMNS, bell_table
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.bell_states import bell_states
from springfit.watching.judged_batches import JudgedBatch
from springfit.watching.signatures.naming import Named
from springfit.watching.slip_places import slip_findings
from springfit.watching.watch import Watch
from tests.helpers.books.small_book import sheets, write

Unit = Literal["mm", "in"]
LINE = SteelLine(np.array([0.0, 300.0]), np.array([0.0, 300.0]))


@pytest.mark.parametrize(
    ("units", "size", "said"),
    [
        ("mm", 0.3048, "+0.305 mm per side off"),
        ("in", 0.3048, "+12 thou per side off"),
        ("in", -0.3048, "-12 thou per side off"),
    ],
)
def test_a_wrong_reading(units: Unit, size: float, said: str, tmp_path: Path) -> None:
    book = replace(read_book(write(tmp_path / "book", sheets()))[0], units=units)
    bell = book.measurements["bell_id"].iloc[0]
    slip = Named("reading_slip", "B1", bell, size, 0.02, "mm", (50.0, 50.0), 9.0, ("reading_slip",))
    batch = JudgedBatch("B1", "OAK", 0, "", 9, "", (), (slip,), (bell,), (), None, 300.0, LINE, None)
    (found,) = slip_findings(book, [batch])
    assert said in found.what


def test_a_gauge_off_its_zero_is_named() -> None:
    zero = Named("gauge_zero", "B1", "", -0.05, 0.01, "mm", (0.0, 9.0), 9.0, ("gauge_zero",), gauge_id="CAL-2")
    assert size_words(zero, "mm") == "-0.050 mm per side, gauge CAL-2"


@pytest.mark.parametrize(("units", "off"), [("mm", "0.43 mm"), ("in", "17 thou")])
def test_a_record_that_is_not_believed(units: Unit, off: str, tmp_path: Path) -> None:
    book = read_book(write(tmp_path / "book", sheets()))[0]
    bell = str(book.measurements["bell_id"].iloc[0])
    bells = bell_states(book, [], [SetAside(bell, "B1", UnlikeItsBatch(0.4318))])
    table = bell_table(Watch("", "v0001", units, (), bells, (), (), (), None, (), ()), units)
    assert tuple(table.columns) == BELL_COLUMNS and list(table["bell_id"]) == [bell]
    assert table["finding"].item() == "doubted_record" and f"{off} rms off its batch" in table["settle_by"].item()
