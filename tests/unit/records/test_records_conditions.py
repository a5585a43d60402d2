"""Conditions files and draft profiles: read in any unit, refused in place."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from springfit.findings import BookError
from springfit.records import Conditions, read_conditions, read_profile

HEADER = "name,alloy,temper,wall_in,anneal,passes,draw_end_mm,hump,finished_rim_thou"


def typed(tmp_path: Path, *lines: str) -> Path:
    path = tmp_path / "typed.csv"
    path.write_text("\n".join(lines) + "\n")
    return path


def test_units_blanks_and_names(tmp_path: Path) -> None:
    path = typed(tmp_path, HEADER, "thin,c26000,OS035,1/64,full,3,0,,4000", ",C23000,,,,2,250.5,low,")
    first, second = read_conditions(path)
    assert first == Conditions(
        name="thin", alloy="C26000", temper="OS035", wall_mm=25.4 / 64, anneal="full", passes=3,
        draw_end_mm=0.0, finished_rim_mm=pytest.approx(101.6),
    )  # fmt: skip
    assert second == Conditions(name="row 3", alloy="C23000", passes=2, draw_end_mm=250.5, hump="low")
    assert isinstance(first.passes, int)


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        ((HEADER, "a,C26000,,x,full,3,0,,"), r"typed\.csv:2:wall_in: 'x' is not a number"),
        ((HEADER, "a,,,0.02,full,,0,,"), r"typed\.csv:2:alloy: alloy is blank"),
        (("name,alloy,passes", "a,C26000,3"), r"typed\.csv:1:wall: the column wall is missing"),
        (
            (HEADER, "a,C26000,,0.02,full,3,0,,", "a,C26000,,0.02,full,3,0,,"),
            r"typed\.csv:3:name: the name 'a'",
        ),
        ((HEADER,), "the file has no rows"),
        (("",), "the sheet is empty"),
    ],
)
def test_conditions_refused(lines: tuple[str, ...], reason: str, tmp_path: Path) -> None:
    with pytest.raises(BookError, match=reason):
        read_conditions(typed(tmp_path, *lines))


def test_profile(tmp_path: Path) -> None:
    z, diameter = read_profile(typed(tmp_path, "diameter_in,z_mm", *(f"1-{n}/16,{n}" for n in range(1, 10))))
    assert z.tolist() == list(range(1, 10))
    np.testing.assert_allclose(diameter, 25.4 * (1 + np.arange(1, 10) / 16))


@pytest.mark.parametrize(
    ("rows", "reason"),
    [
        (["1,9"] * 9, r"typed\.csv:3:z_mm: z does not increase"),
        ([f"{n},9" for n in range(5)], "the profile has 5 stations"),
        ([f"{n},{9 if n else ''}" for n in range(9)], r"typed\.csv:2:diameter_mm: diameter_mm is blank"),
    ],
)
def test_profile_refused(rows: list[str], reason: str, tmp_path: Path) -> None:
    with pytest.raises(BookError, match=reason):
        read_profile(typed(tmp_path, "z_mm,diameter_mm", *rows))


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for read in (read_conditions, read_profile):
        with pytest.raises(BookError, match="cannot be read"):
            read(tmp_path / "none.csv")
