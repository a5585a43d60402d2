"""Conditions and a draft's profile may be a sheet of a workbook."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import openpyxl
import pytest

from springfit.findings import BookError
from springfit.records.conditions import read_conditions, read_profile

CONDITIONS = [["name", "alloy", "wall_mm", "passes"], ["as now", "70/30 brass", 0.5, None], ["thin", "C26000", 0.4, 3]]
PROFILE = [["z_mm", "diameter_mm"], *([20.0 * n, 12.0 + n * n] for n in range(10))]


def workbook(path: Path, **sheets: list[list[object]]) -> Path:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def test_both_from_one_workbook(tmp_path: Path) -> None:
    path = workbook(tmp_path / "draft.xlsx", Conditions=CONDITIONS, Profile=PROFILE)
    first, second = read_conditions(path)
    assert (first.name, first.alloy, first.wall_mm, first.passes) == ("as now", "C26000", 0.5, None)
    assert second.passes == 3
    z, diameter = read_profile(path)
    assert np.array_equal(z, [row[0] for row in PROFILE[1:]]) and diameter[3] == 21.0


def test_the_only_sheet_may_have_any_name(tmp_path: Path) -> None:
    assert len(read_conditions(workbook(tmp_path / "a.xlsx", Sheet1=CONDITIONS))) == 2


def test_which_sheet_is_meant_is_asked(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="one sheet named conditions"):
        read_conditions(workbook(tmp_path / "a.xlsx", One=CONDITIONS, Two=CONDITIONS))
