"""A new batch typed in three minutes: what is left blank is taken from a batch that is in the book."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from springfit.findings import Finding
from springfit.lengths import parse_length, split_unit
from springfit.records.editing.cell_writing import length_cell
from springfit.records.sheets.headers import match_headers
from springfit.records.sheets.sheet import Sheet
from springfit.records.sheets.sources import TableSheets
from springfit.records.tables import TABLES

__all__ = ["filled_from_batch"]

_OWN = ("batch_id", "spun_on", "revision", "note")  # a batch's own, never another's


def filled_from_batch(new: TableSheets, old: TableSheets, like: str, findings: list[Finding]) -> TableSheets:
    """The new sheets, blank cells of `batches` taken from the book's batch `like`; adds to `findings`."""
    values = _values_of(old, like)
    if values is None:
        what, expected = f"there is no batch {like!r} in the book", "a batch_id of the book's batches"
        findings.append(Finding("error", "--like", None, None, what, expected))
        return new
    if not any(table == "batches" and len(sheet) for table, sheet in new):
        what = "the sheets hold no new batch to fill in"
        findings.append(Finding("error", "--like", None, None, what, "batches with batch_id and spun_on"))
        return new
    return [(table, _filled(sheet, values) if table == "batches" else sheet) for table, sheet in new]


def _values_of(old: TableSheets, like: str) -> dict[str, tuple[str, str]] | None:
    """Quantity -> (header, cell) as typed for the batch; None when it is not there."""
    for sheet in (sheet for table, sheet in old if table == "batches" and "batch_id" in sheet.cells):
        rows = np.flatnonzero(sheet.cells["batch_id"] == like)
        if len(rows):
            matched, _ = match_headers(sheet, TABLES["batches"])
            return {name: (header, str(sheet.cells[header][rows[0]])) for name, header in matched.items()}
    return None


def _filled(sheet: Sheet, values: dict[str, tuple[str, str]]) -> Sheet:
    """The sheet with its blanks filled, in its own units, and the columns that it has not got."""
    matched, _ = match_headers(sheet, TABLES["batches"])
    cells = dict(sheet.cells)
    for name, (header, cell) in values.items():
        if name in _OWN or not cell:
            continue
        own = matched.get(name, header)
        typed = cells.get(own, np.full(len(sheet), "", dtype=object))
        cells[own] = np.where(typed == "", _in_units_of(own, header, cell, sheet.decimal == ","), typed)
    return replace(sheet, header=tuple(cells), cells=cells)


def _in_units_of(own: str, header: str, cell: str, comma: bool) -> str:
    """The cell of a column `header` as it would be typed in a column `own` of the same quantity."""
    unit, own_unit = split_unit(header)[1], split_unit(own)[1]
    if unit and own_unit and unit != own_unit:
        try:
            cell = length_cell(parse_length(cell, unit), own_unit)
        except ValueError:
            return ""  # the book's own error, reported where it stands
    return cell.replace(".", ",") if comma and unit else cell
