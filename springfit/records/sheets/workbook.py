"""A workbook (.xlsx) as sheets of text, by the same rules as CSV; nothing in it is computed or trusted."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from xml.etree import ElementTree
from xml.parsers import expat

from springfit.findings import Finding
from springfit.lengths import split_unit
from springfit.records.columns import Table
from springfit.records.sheets.layout.table_rows import HEADER_WITHIN
from springfit.records.sheets.sheet import Decimal, Sheet, text_sheet
from springfit.records.sheets.workbooks.archive import OpenWorkbook, SheetPart, TooLarge, open_workbook
from springfit.records.sheets.workbooks.cell_formats import (
    CellFormats,
    SharedTexts,
    formats_in,
    shared_texts,
)
from springfit.records.sheets.workbooks.worksheet import Worksheet, read_worksheet

__all__ = ["workbook_sheets"]

# What zip, XML and damaged contents raise: anything may be missing, misplaced or mistyped.
_UNREADABLE = (
    zipfile.BadZipFile, KeyError, ValueError, TypeError, AttributeError, IndexError, SyntaxError, EOFError, OSError,
    NotImplementedError, RecursionError, MemoryError, OverflowError, RuntimeError, ElementTree.ParseError,
    expat.ExpatError,
)  # fmt: skip
_NO_ARCHIVE = (zipfile.BadZipFile, OSError, EOFError)
_MOST_NAMED = 6  # rows that a doubt lists one by one; what a line holds

_SIZES = ("value", "diameter")  # what is read at one place, and is not the same at the next

TableOf = Callable[[str], Table | None]


def workbook_sheets(
    file: str, data: bytes, table_of: TableOf, *, decimal_comma: bool = False
) -> tuple[list[tuple[str, Sheet]], list[Finding], dict[str, list[list[str]]]]:
    """(table, sheet) of every worksheet that `table_of` knows by its title; findings; titles of the others, each with
    its first rows.

    A sheet is called `file[title]`; one that cannot be read has no columns.
    """
    findings: list[Finding] = []
    sheets: list[tuple[str, Sheet]] = []
    others: dict[str, list[list[str]]] = {}
    decimal: Decimal = "," if decimal_comma else "."
    try:
        book = open_workbook(data)
        texts = shared_texts(book.part("xl/sharedStrings.xml"))
        formats = formats_in(book.part("xl/styles.xml"))
        for one in book.sheets:
            table = table_of(one.title)
            if table is None:
                others[one.title] = _first_rows(book, one, texts, formats)
            else:
                sheets.append((table.name, _sheet(file, book, one, table, texts, formats, decimal, findings)))
    except TooLarge as large:
        findings.append(_error(file, large.what, large.expected, "save its sheets as CSV"))
    except _NO_ARCHIVE:
        what = "the file is not an .xlsx workbook"
        findings.append(_error(file, what, "an .xlsx workbook", "save it again as .xlsx"))
    except _UNREADABLE as broken:
        what = f"the workbook cannot be read ({type(broken).__name__})"
        findings.append(_error(file, what, "an .xlsx workbook", "save it again, or save its sheets as CSV"))
    return sheets, findings, others


def _first_rows(book: OpenWorkbook, one: SheetPart, texts: SharedTexts, formats: CellFormats) -> list[list[str]]:
    """The first rows of a sheet that is under no table's name; none of one that cannot be read: it is not asked for."""
    try:
        rows = read_worksheet(book, one, texts, formats, ".", fewest=HEADER_WITHIN).rows
    except _UNREADABLE:
        return []
    return [cells for _, cells in rows[:HEADER_WITHIN]]


def _sheet(
    file: str, book: OpenWorkbook, one: SheetPart, table: Table, texts: SharedTexts, formats: CellFormats,
    decimal: Decimal, findings: list[Finding],
) -> Sheet:  # fmt: skip
    """One worksheet as a sheet of its table; without columns when it cannot be read."""
    name = f"{file}[{one.title}]"
    read = read_worksheet(book, one, texts, formats, decimal)
    sheet = text_sheet(
        name, iter(read.rows), findings, table=table, decimal=decimal, faults=read.faults, ragged=True
    )
    if sheet is not None:
        findings += [*_odd_rows(name, one, read, sheet), *_days_for_names(name, read, sheet, table)]
    return Sheet(name) if sheet is None else sheet


def _odd_rows(name: str, one: SheetPart, read: Worksheet, sheet: Sheet) -> list[Finding]:
    """Doubts about what a spreadsheet hides or strikes through and is read all the same."""
    found = []
    if one.hidden:
        what = "the sheet is hidden in the workbook; it is read like the others"
        remedy = "delete it if it does not count"
        found.append(Finding("doubt", name, None, None, what, "a sheet that can be seen", remedy))
    kept = set(sheet.rows.tolist())
    for said, rows in (("hidden (a filter?)", read.hidden), ("struck through", read.struck)):
        rows = [row for row in rows if row in kept]
        if rows:
            listed = ", ".join(map(str, rows[:_MOST_NAMED]))
            more = f" and {len(rows) - _MOST_NAMED} more" if len(rows) > _MOST_NAMED else ""
            many = len(rows) > 1
            what = f"row{'s' if many else ''} {listed}{more} {'are' if many else 'is'} {said}, and read like the others"
            remedy = "take out what does not count, show what does"
            found.append(
                Finding("doubt", name, rows[0], None, what, "rows that can be seen and count", remedy)
            )
    return found + _merged_sizes(name, read, sheet)


def _merged_sizes(name: str, read: Worksheet, sheet: Sheet) -> list[Finding]:
    """A doubt for a column of sizes where a merged cell gives one size to several rows: one was read, not each."""
    found, kept = [], set(sheet.rows.tolist())
    for header, position in sheet.positions.items():
        rows = [row for row in read.filled.get(position, ()) if row in kept]
        if rows and split_unit(header)[0] in _SIZES:
            many = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
            what = f"the size of row {rows[0]}{many} is that of the merged cell above: it counts as read there too"
            remedy = "take the cells apart and leave out the rows where nothing was read"
            found.append(Finding("doubt", name, rows[0], header, what, "a size of its own in every row", remedy))
    return found


def _days_for_names(name: str, read: Worksheet, sheet: Sheet, table: Table) -> list[Finding]:
    """A doubt for a column of names that the spreadsheet holds as days: it makes a day of 3-1. A batch that is named by
    the day it was spun on is so named on purpose."""
    found, kept = [], {row: n for n, row in enumerate(sheet.rows.tolist())}
    for header in table.key[:1]:  # where a thing has its name; elsewhere the same is only repeated
        rows = [row for row in read.days.get(sheet.positions.get(header, -1), ()) if row in kept]
        if not rows:
            continue
        names, days = sheet.cells[header], sheet.cells.get("spun_on", sheet.rows)
        rows = [row for row in rows if names[kept[row]] != days[kept[row]]]
        if rows:
            more = f", and so on in {len(rows)} cells of the column" if len(rows) > 1 else ""
            what = f"{names[kept[rows[0]]]!r} is a day{more}: did the spreadsheet make it of a name such as 3-1?"
            remedy = "set the column's cells to text there, and type the names again"
            found.append(Finding("doubt", name, rows[0], header, what, "a name", remedy))
    return found


def _error(file: str, what: str, expected: str, remedy: str) -> Finding:
    return Finding("error", file, None, None, what, expected, remedy)
