"""One sheet as it was typed: its cells as text under their headers, each row with the line it stands on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from springfit.findings import Finding

__all__ = ["LARGEST_SHEET", "Decimal", "Sheet", "text_sheet"]

LARGEST_SHEET = 128 * 2**20  # bytes; a million readings typed as CSV are about 70 MB

Decimal = Literal[".", ",", ".,"]  # the decimal mark of a sheet; ".,": either, but one in each column


@dataclass(frozen=True)
class Sheet:
    """Cells as stripped text: `cells[header]` is an object array, `rows` the line of each (header = 1)."""

    file: str
    header: tuple[str, ...] = ()
    cells: dict[str, np.ndarray] = field(default_factory=dict)
    rows: np.ndarray = field(default_factory=lambda: np.array([], dtype=np.int64))
    decimal: Decimal = "."

    def __len__(self) -> int:
        return len(self.rows)

    def rows_where(self, keep: np.ndarray) -> Sheet:
        """The sheet with only the rows that are to be kept, each still on its line."""
        cells = {name: column[keep] for name, column in self.cells.items()}
        return replace(self, cells=cells, rows=self.rows[keep])


def text_sheet(
    file: str,
    records: Iterator[tuple[int, list[str]]],
    findings: list[Finding],
    *,
    decimal: Decimal = ".",
) -> Sheet | None:
    """The sheet in `records` of (line, cells), the first with text being the header. Adds to `findings`."""
    pool: dict[str, str] = {}
    header: list[str] | None = None
    lines: list[int] = []
    rows: list[list[str]] = []
    for line, record in records:
        cells = [pool.get(cell) or pool.setdefault(cell, cell.strip()) for cell in record]
        if not any(cells):
            continue
        if header is None:
            header = [cell.lower() for cell in cells]
            continue
        if len(cells) != len(header):
            _fit(file, line, cells, header, findings)
        lines.append(line)
        rows.append(cells)
    if header is None:
        findings.append(Finding("error", file, 1, None, "the sheet is empty", "a row of column names"))
        return None
    if not _header_is_sound(file, header, findings):
        return None
    columns = [_objects(column) for column in zip(*rows, strict=True)] or [_objects([]) for _ in header]
    if any(not name and any(column) for name, column in zip(header, columns, strict=True)):
        what = "cells stand in a column without a name; they are not read"
        findings.append(Finding("doubt", file, 1, None, what, "a name above every column"))
    cells_of = {name: column for name, column in zip(header, columns, strict=True) if name}
    return Sheet(file, tuple(cells_of), cells_of, np.array(lines, dtype=np.int64), decimal)


def _fit(file: str, line: int, cells: list[str], header: list[str], findings: list[Finding]) -> None:
    """Makes `cells` as long as the header: blank cells are added or dropped, others are a finding."""
    extra = [cell for cell in cells[len(header) :] if cell]
    if extra:
        findings.append(
            Finding(
                "error",
                file,
                line,
                None,
                f"the row has {len(cells)} cells, the header {len(header)}",
                "no more cells than the header",
                "a decimal comma or an unquoted comma splits a cell in two: write a point, or quote it",
            )
        )
    del cells[len(header) :]
    cells.extend([""] * (len(header) - len(cells)))


def _header_is_sound(file: str, header: list[str], findings: list[Finding]) -> bool:
    """Whether every named column stands once; columns without a name are dropped by the caller."""
    twice = sorted({name for name in header if name and header.count(name) > 1})
    for name in twice:
        findings.append(
            Finding(
                "error", file, 1, name, "the column stands twice", "each column once", "delete or rename one"
            )
        )
    return not twice


def _objects(column: tuple[str, ...] | list[str]) -> np.ndarray:
    """A 1-D object array of the texts."""
    array = np.empty(len(column), dtype=object)
    array[:] = column
    return array
