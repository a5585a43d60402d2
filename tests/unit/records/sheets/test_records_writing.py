"""Cells written so that no spreadsheet computes them, and the form that a shop fills."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from springfit.records import new_book
from springfit.records.sheets.cells import plain_texts
from springfit.records.sheets.formula_guard import guarded
from springfit.records.tables import TABLES

MARKED = ["'=1", "''=1", "'x", "'", "''", "'\t@x", "' x"]


@pytest.mark.parametrize("text", ["=1", "+1", "-1", "@x", " =1", "x", "x=1", *MARKED])
def test_guard_and_back(text: str) -> None:
    import numpy as np

    written = guarded(text)
    assert written.lstrip()[0] not in "=+-@"
    assert plain_texts(np.array([written], dtype=object)).tolist() == [text]


def test_the_form_lists_every_choice(tmp_path: Path) -> None:
    folder = new_book(tmp_path / "book", units="in")
    form = openpyxl.load_workbook(folder / "form.xlsx")
    assert form.sheetnames[:3] == ["batches", "bells", "measurements"] and set(form.sheetnames) == set(TABLES)
    for name, table in TABLES.items():
        rules = form[name].data_validations.dataValidation
        lists = [rule.formula1 for rule in rules if rule.type == "list"]
        assert all(rule.formula1 and rule.formula2 for rule in rules if rule.type not in ("list", "custom"))
        assert lists == [f'"{",".join(column.choices)}"' for column in table.columns if column.choices]
        header = [cell.value for cell in form[name][1]]
        assert header == [c.name + ("_in" if c.kind == "length" else "") for c in table.columns]
    guide = (folder / "how-to-fill.txt").read_text()
    assert "inches" in guide and "draw_ring: which ring or die the tail was drawn through" in guide
    for name, table in TABLES.items():
        for number, column in enumerate(table.columns, start=1):
            assert column.meaning and column.meaning in guide
            assert column.meaning in form[name].cell(1, number).comment.text
            if column.kind == "length":
                letter = form[name].cell(1, number).column_letter
                assert form[name].column_dimensions[letter].number_format == "@", "a fraction must stay text"
                (rule,) = (rule for rule in form[name].data_validations.dataValidation if f"{letter}2" in rule.sqref)
                low, high = (f"{bound / 25.4:.4g}" for bound in (column.low, column.high))
                assert f">={low}," in rule.formula1 and f"<={high})" in rule.formula1
                assert rule.errorStyle == "warning" and f'FIND("/",{letter}2)' in rule.formula1
