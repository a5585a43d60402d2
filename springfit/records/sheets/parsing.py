"""From a sheet of text to a data frame in mm, with an error at every cell that could not be read."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from springfit.findings import Finding, Grade
from springfit.records.blank_cells import blank_column
from springfit.records.columns import Table
from springfit.records.sheets.cells import TypedColumn, plain_texts, read_column
from springfit.records.sheets.headers import match_headers
from springfit.records.sheets.sheet import Sheet

__all__ = ["Parsed", "parse_sheet"]


@dataclass
class Parsed:
    """A parsed sheet. `headers`: frame column to header as typed; `unread`: (position, frame column) of cells
    that were refused and stand blank in `frame`."""

    table: Table
    sheet: Sheet
    headers: dict[str, str]
    findings: list[Finding]
    unread: set[tuple[int, str]] = field(default_factory=set)
    frame: pd.DataFrame = field(default_factory=pd.DataFrame)


def parse_sheet(sheet: Sheet, table: Table) -> Parsed:
    """The sheet as a frame with every declared column of `table`, extra columns as text, and places."""
    matched, findings = match_headers(sheet, table)
    frame_names = {header: table.by_name[name].frame_name for name, header in matched.items()}
    parsed = Parsed(table, sheet, {name: header for header, name in frame_names.items()}, findings)
    arrays: dict[str, np.ndarray] = {}
    for column in table.columns:
        header = matched.get(column.name)
        if header is None:
            arrays[column.frame_name] = blank_column(column, len(sheet))
            continue
        refuse = _Refusal(parsed, column.frame_name, header)
        typed = TypedColumn(column, header, sheet.cells[header], sheet.decimal, refuse, sheet.days)
        arrays[column.frame_name] = read_column(typed)
    for extra in sheet.header:
        if extra not in frame_names and extra not in arrays:
            arrays[extra] = plain_texts(sheet.cells[extra])
    if sheet.faulty:
        place = {line: row for row, line in enumerate(sheet.rows.tolist())}
        parsed.unread.update(
            (place[line], frame_names[header])
            for line, header in sheet.faulty if line in place and header in frame_names
        )  # fmt: skip
    arrays["source_file"] = np.full(len(sheet), sheet.file, dtype=object)
    arrays["source_row"] = sheet.rows
    parsed.frame = pd.DataFrame({name: pd.Series(array, dtype=array.dtype) for name, array in arrays.items()})
    return parsed


@dataclass(frozen=True)
class _Refusal:
    """Notes an error in one column of a sheet."""

    parsed: Parsed
    frame_name: str
    header: str

    def __call__(self, row: int, what: str, expected: str, remedy: str = "", *, note: bool = False) -> None:
        """An error (without words: another cell's error speaks for it too), or a note."""
        sheet = self.parsed.sheet
        if not note:
            self.parsed.unread.add((row, self.frame_name))
        if what:
            grade: Grade = "note" if note else "error"
            place = (sheet.file, int(sheet.rows[row]), self.header)
            self.parsed.findings.append(Finding(grade, *place, what, expected, remedy))
