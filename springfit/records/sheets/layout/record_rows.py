"""The records under a header, gathered column by column in one pass over the rows of a sheet.

Most rows of a long sheet are records at first sight: their cells go into one flat list, for half a million small lists
cost more time (the collector of garbage walks over them again and again) than all else that is done with the sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from operator import itemgetter

import numpy as np

from springfit.records.columns import Table
from springfit.records.sheets.layout.header_words import header_names, names_a_column
from springfit.records.sheets.layout.other_units import units_named
from springfit.records.sheets.layout.table_rows import PassedOver, Row, passed_over

__all__ = ["RecordRows", "note_passed_over", "record_rows"]

_LONGEST_QUOTED = 60  # characters of a row passed over that a note repeats; what a line holds


@dataclass(frozen=True)
class RecordRows:
    """Records: the `lines` they stand on, their cells by `columns` (object arrays of text), and of those with more
    cells than the header line and cells (`too_long`)."""

    lines: np.ndarray
    columns: list[np.ndarray]
    too_long: list[Row]


def record_rows(
    rows: Iterable[Row],
    header: list[str],
    table: Table,
    computed: Callable[[], Collection[int]],
    passed: list[PassedOver],
) -> RecordRows:
    """The rows that are records, each as long as the header; the others are noted in `passed`.

    `computed`, asked after the last row: lines with a cell that cannot be read as it stands.
    """
    width, is_record = len(header), _at_first_sight(header, table)
    lines, table_cells, others = _gathered(rows, width, is_record)
    keep, too_long = np.ones(len(lines), dtype=bool), []
    faulty = computed() if others else ()
    for place, row in others:
        line = int(lines[place])
        if not (len(row) > width and is_record(row)):
            kind = passed_over(row, header, table, computed=line in faulty)
            if kind:
                keep[place] = False
                note_passed_over(passed, kind, line, row)
                continue
        if any(row[width:]):
            too_long.append((line, row))
        table_cells[place] = (row + [""] * width)[:width]
    kept = table_cells if keep.all() else table_cells[keep]
    return RecordRows(lines[keep], [np.ascontiguousarray(column) for column in kept.T], too_long)


def _gathered(
    rows: Iterable[Row], width: int, is_record: Callable[[list[str]], bool]
) -> tuple[np.ndarray, np.ndarray, list[tuple[int, list[str]]]]:
    """The lines, their cells (lines, width), and the rows still to be looked at by their place: there cells are ""."""
    blank = [""] * width
    cells: list[str] = []
    lines: list[int] = []
    others: list[tuple[int, list[str]]] = []
    for line, row in rows:
        if len(row) == width and is_record(row):
            cells += row
        else:
            others.append((len(lines), row))
            cells += blank
        lines.append(line)
    flat = np.empty(len(cells), dtype=object)
    flat[:] = cells
    return np.array(lines, dtype=np.int64), flat.reshape(-1, width), others


def _quoted(row: list[str]) -> str:
    """What a row says, shortened."""
    text = " ".join(cell for cell in row if cell)
    return text if len(text) <= _LONGEST_QUOTED else f"{text[:_LONGEST_QUOTED]}..."


def _at_first_sight(header: list[str], table: Table) -> Callable[[list[str]], bool]:
    """Whether a row as long as the header is a record for certain: every needed cell filled, and no header again."""
    filled = {column.name for column in table.columns if column.filled}
    needed = [n for n, name in enumerate(header) if name in filled or name.rpartition("_")[0] in filled]
    if not needed or len(needed) != len(filled):
        return lambda row: False
    first, of = needed[0], itemgetter(*needed, needed[0])
    names = _NamesAColumn(table)
    return lambda row: all(of(row)) and not names[row[first]]


class _NamesAColumn(dict[str, bool]):
    """Whether a cell may be part of a header that stands again, each worked out and kept once."""

    def __init__(self, table: Table) -> None:
        super().__init__()
        self.table = table

    def __missing__(self, cell: str) -> bool:
        self[cell] = found = names_a_column(header_names([cell], self.table)[0], self.table)
        return found


def note_passed_over(passed: list[PassedOver], kind: str, line: int, row: list[str]) -> None:
    """Notes that a row is no record and what it is instead; like rows after one another are told together."""
    if not passed or passed[-1].kind != kind:
        passed.append(PassedOver(kind, text=_quoted(row)))
    passed[-1].lines.append(line)
    if kind in ("title", "remark"):
        passed[-1].units.update(units_named(row))
