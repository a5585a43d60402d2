"""Originals that cannot be what they seem: one point, turned end for end, of another family, without a wall."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest

from springfit.findings import BookError
from springfit.survey.family_survey import survey_family
from springfit.survey.specimens import specimens_of
from tests.helpers.originals.family_book import family_book, original_sheets
from tests.helpers.originals.original_families import Family, Original, drawn_family

UNITS: tuple[Literal["mm", "in"], ...] = ("mm", "in")


@pytest.fixture(scope="module")
def family() -> Family:
    return drawn_family(6, facets=0, count=4, faults=False)


def _turned(one: Original) -> Original:
    return Original((one.z[-1] - one.z)[::-1], one.outside[::-1], one.wall)


def _doubts(folder: Path, originals: tuple[Original, ...], **how: bool) -> tuple[list[str], dict[str, str]]:
    """Names of the specimens that are used, and what is said of those that are doubted."""
    used, doubts = specimens_of(family_book(folder / "book", original_sheets(originals, **how)), "LARK")
    return [one.specimen_id for one in used], {doubt.subject: doubt.line() for doubt in doubts}


def test_one_point_is_left_out_by_name(tmp_path: Path, family: Family) -> None:
    first = family.originals[0]
    short = Original(first.z[5:6], first.outside[5:6], first.wall)
    used, said = _doubts(tmp_path, (short, *family.originals[1:]))
    assert used == ["L2", "L3", "L4"]
    assert "L1: a single station" in said["L1"] and "at least 8" in said["L1"]


def test_a_specimen_turned_end_for_end_is_left_out_by_name(tmp_path: Path, family: Family) -> None:
    used, said = _doubts(tmp_path, (_turned(family.originals[0]), *family.originals[1:]))
    assert used == ["L2", "L3", "L4"]
    assert "turned end for end" in said["L1"]


def test_a_missing_wall_is_doubted_and_taken_from_the_others(tmp_path: Path, family: Family) -> None:
    sheets = original_sheets(family.originals)
    sheets["specimens.csv"][2][3] = ""
    used, doubts = specimens_of(family_book(tmp_path / "book", sheets), "LARK")
    walls = [one.wall for one in family.originals]
    assert [one.specimen_id for one in used] == ["L1", "L2", "L3", "L4"]
    assert used[1].wall == pytest.approx(float(np.median([walls[0], *walls[2:]])), abs=1e-3)
    assert [doubt.subject for doubt in doubts] == ["L2"] and "no wall is stated" in doubts[0].line()
    assert not doubts[0].sets_aside


def test_lengths_are_said_in_the_unit_of_the_book(tmp_path: Path, family: Family) -> None:
    sheets = original_sheets((_turned(family.originals[0]), *family.originals[1:]))
    sheets["specimens.csv"][2][3] = ""
    book = family_book(tmp_path / "book", sheets)
    told = [specimens_of(replace(book, units=units), "LARK")[1] for units in UNITS]
    metric, inch = ({one.subject: one for one in doubts} for doubts in told)
    mm = re.fullmatch(r"L1: diameters fall from (\S+) mm at its tail to (\S+) mm", metric["L1"].what)
    inches = re.fullmatch(r"L1: diameters fall from (\S+) in at its tail to (\S+) in", inch["L1"].what)
    assert mm and inches
    assert [25.4 * float(end) for end in inches.groups()] == pytest.approx([float(end) for end in mm.groups()], abs=0.1)
    wall = re.match(r"taken as (0\.\d{3}) mm;", metric["L2"].remedy)
    thou = re.match(r"taken as (\S+) thou;", inch["L2"].remedy)
    assert wall and thou and 0.0254 * float(thou[1]) == pytest.approx(float(wall[1]), abs=0.002)


def test_a_bell_of_another_family_is_left_out_and_the_rest_are_as_without_it(tmp_path: Path, family: Family) -> None:
    stranger = drawn_family(31, facets=0, count=1, faults=False).originals[0]
    apart = family_book(tmp_path / "apart", original_sheets(family.originals[:3]))
    mixed = family_book(tmp_path / "mixed", original_sheets((*family.originals[:3], stranger)))
    told, alone = survey_family(mixed, "LARK"), survey_family(apart, "LARK")
    assert [one.specimen_id for one in told.consensus.specimens] == ["L1", "L2", "L3"]
    assert [one.subject for one in told.findings] == ["L4"] and "another family" in told.findings[0].line()
    at = np.linspace(5.0, told.consensus.line.length - 5.0, 50)
    assert told.consensus.line.at(at).r == pytest.approx(alone.consensus.line.at(at).r, abs=1e-6)


def test_none_that_can_be_used_is_an_error_that_names_each(tmp_path: Path, family: Family) -> None:
    turned = tuple(_turned(one) for one in family.originals[:2])
    with pytest.raises(BookError, match="L1: diameters fall") as refused:
        _doubts(tmp_path, turned)
    assert {finding.grade for finding in refused.value.findings} == {"error"} and len(refused.value.findings) == 2


def test_an_unknown_family_is_an_error_that_names_those_there_are(tmp_path: Path, family: Family) -> None:
    book = family_book(tmp_path / "book", original_sheets(family.originals))
    with pytest.raises(BookError, match="no specimen of family 'WREN', expected LARK"):
        survey_family(book, "WREN")


def test_one_original_alone_tells_no_spread(tmp_path: Path, family: Family) -> None:
    told = survey_family(family_book(tmp_path / "book", original_sheets(family.originals[:1])), "LARK")
    assert not told.tolerance_known
    assert np.isnan(told.spread.between).all()


def test_a_majority_dented_at_one_place_is_said_by_place(tmp_path: Path, family: Family) -> None:
    dented = []
    for number, one in enumerate(family.originals):
        dent = 0.6 * np.exp(-(((one.outside - 60.0) / 6.0) ** 2)) if number < 2 else 0.0
        dented.append(replace(one, outside=one.outside - dent))
    told = survey_family(family_book(tmp_path / "book", original_sheets(dented)), "LARK")
    masked = 2 * told.stations.r[told.spread.masked]
    assert masked.size and np.all(np.abs(masked - 60.0) < 15.0)
