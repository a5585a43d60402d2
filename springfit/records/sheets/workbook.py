"""A workbook (.xlsx) as sheets of text, by the same rules as CSV; nothing in it is computed or trusted."""

from __future__ import annotations

import datetime
import io
import warnings
import zipfile
from collections.abc import Callable, Iterator
from typing import Any

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from springfit.findings import Finding
from springfit.records.sheets.sheet import LARGEST_SHEET, Decimal, Sheet, text_sheet

__all__ = ["workbook_sheets"]

_LARGEST_UNPACKED = 4 * LARGEST_SHEET  # bytes of all parts together; XML is some four times its table as CSV
_LARGEST_RATIO = 200  # unpacked to packed; real sheets reach some tens
_SMALL = 2**20  # bytes; a part below this may pack as tightly as it likes
_MOST_PARTS = 2000
_MOST_COLUMNS = 500


def workbook_sheets(
    file: str, data: bytes, table_of: Callable[[str], str | None], *, decimal_comma: bool = False
) -> tuple[list[tuple[str, Sheet]], list[Finding], list[str]]:
    """(table, sheet) of every worksheet that `table_of` knows by its title; findings; names of the others.

    A sheet is called `file[title]`; one that cannot be read has no columns. A formula is refused in its cell:
    what it would give is not known until a spreadsheet computes it.
    """
    refused = _refusal(file, data)
    if refused is not None:
        return [], [refused], []
    findings: list[Finding] = []
    sheets: list[tuple[str, Sheet]] = []
    others: list[str] = []
    decimal: Decimal = "," if decimal_comma else "."
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of drop-down lists and the like, which are not read
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
        for worksheet in book.worksheets:
            name, table = f"{file}[{worksheet.title}]", table_of(worksheet.title)
            if table is None:
                others.append(name)
                continue
            worksheet.reset_dimensions()
            records = _records(name, worksheet, decimal, findings)
            sheet = text_sheet(name, records, findings, decimal=decimal)
            sheets.append((table, Sheet(name) if sheet is None else sheet))
        book.close()
    except _UNREADABLE as broken:
        what = f"the workbook cannot be read ({type(broken).__name__})"
        findings.append(_error(file, what, "an .xlsx workbook", "save it again, or save its sheets as CSV"))
    return sheets, findings, others


# What zip, XML and openpyxl raise on damaged contents: anything may be missing, misplaced or mistyped.
_UNREADABLE = (
    zipfile.BadZipFile, InvalidFileException, KeyError, ValueError, TypeError, AttributeError, IndexError,
    SyntaxError, EOFError, OSError, NotImplementedError, RecursionError, MemoryError, AssertionError,
)  # fmt: skip


def _refusal(file: str, data: bytes) -> Finding | None:
    """Why the bytes are not to be unpacked; None when they may be."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            unpacked = sum(part.file_size for part in parts)
            tight = any(part.file_size > max(_SMALL, _LARGEST_RATIO * part.compress_size) for part in parts)
            if len(parts) > _MOST_PARTS or unpacked > _LARGEST_UNPACKED or tight:
                what = f"the workbook would unpack to {unpacked / 2**20:.0f} MB in {len(parts)} parts"
                return _error(
                    file,
                    what,
                    f"at most {_LARGEST_UNPACKED // 2**20} MB, packed as spreadsheets pack",
                    "save its sheets as CSV",
                )
            for part in parts:
                if part.filename.endswith((".xml", ".rels")) and _declares_entities(archive, part):
                    return _error(
                        file,
                        "the workbook declares its own XML entities",
                        "plain worksheets",
                        "save its sheets as CSV",
                    )
    except (zipfile.BadZipFile, OSError, ValueError, EOFError, NotImplementedError, RuntimeError):
        return _error(
            file, "the file is not an .xlsx workbook", "an .xlsx workbook", "save it again as .xlsx"
        )
    return None


def _declares_entities(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> bool:
    """Whether an XML part begins with a document type, which no spreadsheet writes."""
    with archive.open(part) as stream:
        start = stream.read(4096)
    return b"<!DOCTYPE" in start.replace(b"\0", b"") or b"<!ENTITY" in start.replace(b"\0", b"")


def _records(
    name: str, worksheet: Any, decimal: Decimal, findings: list[Finding]
) -> Iterator[tuple[int, list[str]]]:
    """Rows of cells as text, with their numbers."""
    header: list[str] = []
    for number, row in enumerate(worksheet.iter_rows(max_col=_MOST_COLUMNS), start=1):
        cells = []
        for position, cell in enumerate(row):
            formula = getattr(cell, "data_type", "n") == "f"
            column = header[position] if position < len(header) else None
            if formula or getattr(cell, "data_type", "n") == "e":
                what = (
                    f"the cell holds a formula ({cell.value})" if formula else f"the cell shows {cell.value}"
                )
                findings.append(
                    Finding(
                        "error",
                        name,
                        number,
                        column or None,
                        what,
                        "a value",
                        "copy the column and paste its values only",
                    )
                )
                cells.append("")
            else:
                cells.append(_text(cell.value, decimal))
        if not header and any(cells):
            header = [cell.strip().lower() for cell in cells]
        yield number, cells


def _text(value: object, decimal: Decimal) -> str:
    """A cell as a person would type it: shortest decimal, ISO day."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
        return text.replace(".", decimal)
    if isinstance(value, datetime.datetime):
        whole_day = value.time() == datetime.time(0)
        return value.date().isoformat() if whole_day else value.isoformat(sep=" ")
    return str(value)


def _error(file: str, what: str, expected: str, remedy: str) -> Finding:
    return Finding("error", file, None, None, what, expected, remedy)
