"""Facets of a family: counted on each original, and refused a depth where stations are too sparse for one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from springfit.reporting.wording.survey_wording import limits_of_survey
from springfit.survey.family_survey import Survey, survey_family
from springfit.survey.survey_tables import facet_table_of, on_specimens
from tests.helpers.originals.facet_lines import INCH
from tests.helpers.originals.family_book import family_book, original_sheets
from tests.helpers.originals.original_families import drawn_family

LACKING = 2


def _surveyed(folder: Path, seed: int, **how: object) -> Survey:
    family = drawn_family(seed, faults=False, **how)  # type: ignore[arg-type]
    return survey_family(family_book(folder / "book", original_sheets(family.originals)), "LARK")


@pytest.mark.parametrize("seed", [0, 2])
def test_a_facet_too_small_for_the_stations_is_refused_a_depth_with_the_spacing_that_tells_it(
    tmp_path: Path, seed: int
) -> None:
    """A dish and a corner on one original read every half inch."""
    told = _surveyed(tmp_path, seed, count=1, facets=1, spacing=INCH / 2, depth=(0.10, 0.13))
    table = facet_table_of(told)
    assert len(table) == 1 and table["depth_mm"].isna().all() and table["kink_deg"].isna().all()
    assert on_specimens(told)["depth_mm"].isna().all()
    needs = float(table["needs_mm"].iloc[0])
    assert INCH / 4 <= needs < INCH / 2
    assert any("measure every 1/4 in" in line for line in limits_of_survey(told, "in"))


def test_an_original_without_the_facet_is_told(tmp_path: Path) -> None:
    told = _surveyed(tmp_path, 8, facets=1, count=4, corners=False, lacking=LACKING, depth=(0.09, 0.10))
    facet = told.facets[0]
    there = {one.specimen_id: one.there for one in facet.on}
    assert len(told.facets) == 1 and facet.found_in == 3
    assert there.pop(f"L{LACKING + 1}") == "no" and set(there.values()) == {"yes"}
    assert told.differences[LACKING].lacking == (1,)
    shares = np.array([one.share for one in facet.on])
    assert abs(shares[LACKING]) < 0.3 and np.delete(shares, LACKING) == pytest.approx(1.0, abs=0.3)
