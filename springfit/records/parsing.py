"""From a sheet of text to a data frame in mm: columns matched by name and unit, cells read by their kind.

The fast path reads a whole column at once; only cells it cannot read (fractions, mistakes) are read one by one.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import MM_PER_UNIT, parse_length, parse_number, split_unit
from springfit.records.sheets import Sheet
from springfit.records.tables import Column, Table

__all__ = ["Parsed", "parse_sheet"]

_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
_GUARDED = re.compile(r"'+[=+\-@]")  # a text that could be a formula is written with a quote mark before it
_LONGEST_ID = 200  # characters
_LONGEST_SHOWN = 60  # characters of a wrong cell that a message repeats


class Parsed:
    """A parsed sheet: `frame` (mm), `headers` (frame column -> header as typed), `unread` (row, column) cells."""

    def __init__(self, table: Table, sheet: Sheet) -> None:
        self.table = table
        self.sheet = sheet
        self.headers: dict[str, str] = {}
        self.unread: set[tuple[int, str]] = set()
        self.findings: list[Finding] = []
        self.frame = pd.DataFrame()

    @classmethod
    def empty(cls, table: Table, sheet: Sheet | None = None) -> Parsed:
        """A table without rows."""
        nothing = Sheet(sheet.file if sheet else "", (), {}, np.array([], dtype=np.int64))
        parsed = parse_sheet(nothing, table)
        parsed.findings.clear()
        return parsed

    def refuse(self, row: int, frame_name: str, what: str, expected: str, remedy: str = "") -> None:
        """An error at position `row` of the frame."""
        self.unread.add((row, frame_name))
        header = self.headers.get(frame_name, frame_name)
        place = int(self.sheet.rows[row])
        self.findings.append(Finding("error", self.sheet.file, place, header, what, expected, remedy))


def parse_sheet(sheet: Sheet, table: Table) -> Parsed:
    """The sheet as a frame with every declared column of `table`, plus its extra columns as text."""
    parsed = Parsed(table, sheet)
    matched = _match_columns(parsed)
    columns: dict[str, np.ndarray | pd.Series] = {}
    for column in table.columns:
        header = matched.get(column.name)
        columns[column.frame_name] = (
            _blank(column, len(sheet)) if header is None else _READERS[column.kind](parsed, column, header)
        )
    for extra in sorted(set(sheet.header) - set(matched.values()) - set(columns)):
        columns[extra] = _texts(sheet.cells[extra])
    columns["source_file"] = np.full(len(sheet), sheet.file, dtype=object)
    columns["source_row"] = sheet.rows
    parsed.frame = pd.DataFrame({name: pd.Series(values, dtype=_dtype(values)) for name, values in columns.items()})
    return parsed


def _match_columns(parsed: Parsed) -> dict[str, str]:
    """Quantity -> header for the declared columns that the sheet has; findings for the others."""
    table, sheet = parsed.table, parsed.sheet
    matched: dict[str, str] = {}
    extras: list[str] = []
    for header in sheet.header:
        column = _declared(parsed, header)
        if column is None:
            extras.append(header)
        elif column.name in matched:
            parsed.findings.append(
                Finding("error", sheet.file, 1, header, f"{column.name} stands in two units: "
                        f"{matched[column.name]} and {header}", "each quantity once", "keep one of the two")
            )  # fmt: skip
        else:
            matched[column.name] = header
            parsed.headers[column.frame_name] = header
    refused = {finding.column for finding in parsed.findings}
    extras = [extra for extra in extras if extra not in refused]
    for column in table.columns:
        if (column.filled or column.present) and column.name not in matched:
            _report_missing(parsed, column)
    _report_extras(parsed, extras, [column for column in table.columns if column.name not in matched])
    return matched


def _declared(parsed: Parsed, header: str) -> Column | None:
    """The column that a header names; None for an extra one, with an error when only its unit is wrong."""
    by_name = parsed.table.by_name
    name, unit = split_unit(header)
    if unit is not None and name in by_name and by_name[name].kind == "length":
        return by_name[name]
    if header in by_name and by_name[header].kind != "length":
        return by_name[header]
    stem = header.rpartition("_")[0]
    unitless = by_name.get(header) or (by_name.get(stem) if len(header) - len(stem) <= 7 else None)
    if unitless is not None and (unitless.kind == "length" or unit is not None):
        expected = _written(unitless)
        parsed.findings.append(
            Finding("error", parsed.sheet.file, 1, header, f"the column {header} has no unit known here", expected,
                    "put the unit that was used into the column's name")
            if unitless.kind == "length"
            else Finding("error", parsed.sheet.file, 1, header, f"{unitless.name} is not a length", expected)
        )  # fmt: skip
    return None


def _written(column: Column) -> str:
    """How a header names the column."""
    if column.kind != "length":
        return column.name
    return " or ".join(f"{column.name}_{unit}" for unit in MM_PER_UNIT)


def _report_missing(parsed: Parsed, column: Column) -> None:
    # A header of that quantity with a wrong unit has been reported already.
    if any(f.column and f.column.startswith(column.name) for f in parsed.findings if f.grade == "error"):
        return
    close = difflib.get_close_matches(column.name, [split_unit(h)[0] for h in parsed.sheet.header], 1, 0.75)
    remedy = f"is it the column {close[0]!r}?" if close and close[0] not in parsed.table.by_name else "add it"
    parsed.findings.append(
        Finding("error", parsed.sheet.file, 1, column.name, f"the column {column.name} is missing",
                _written(column), remedy)
    )  # fmt: skip


def _report_extras(parsed: Parsed, extras: list[str], absent: list[Column]) -> None:
    """Extra columns are listed once; one that looks like a misspelt column is a doubt of its own."""
    for extra in list(extras):
        close = difflib.get_close_matches(split_unit(extra)[0], [column.name for column in absent], 1, 0.82)
        if close:
            parsed.findings.append(
                Finding("doubt", parsed.sheet.file, 1, extra, f"the column {extra} is not read",
                        _written(parsed.table.by_name[close[0]]), "correct the name if that is what it holds")
            )  # fmt: skip
            extras.remove(extra)
    if extras:
        parsed.findings.append(
            Finding("note", parsed.sheet.file, 1, None, f"extra columns are kept, not used: {', '.join(extras)}", "")
        )


def _read_numbers(parsed: Parsed, column: Column, header: str) -> np.ndarray:
    """Float array; lengths in mm, blanks NaN."""
    unit = split_unit(header)[1] if column.kind == "length" else None
    cells = parsed.sheet.cells[header]
    values = np.array(pd.to_numeric(pd.Series(cells, dtype=object), errors="coerce"), dtype=float)
    values *= MM_PER_UNIT[unit] if unit else 1.0
    slow = np.flatnonzero(~np.isfinite(values) & (cells != ""))
    comma = parsed.sheet.comma_is_point
    read = _cell_reader(unit, comma)
    for row in slow:
        values[row] = np.nan
        try:
            values[row] = read(cells[row])
        except ValueError as wrong:
            remedy = _remedy(cells[row], header)
            expected = f"a number in {unit}" if unit else "a number"
            parsed.refuse(row, column.frame_name, _shortened(str(wrong)), expected, remedy)
    if comma:
        _refuse_mixed_points(parsed, column, cells)
    if column.kind == "whole":
        for row in np.flatnonzero(np.isfinite(values) & (values != np.floor(values))):
            parsed.refuse(row, column.frame_name, f"{cells[row]!r} is not a whole number", "0, 1, 2 ...")
            values[row] = np.nan
    return values


def _cell_reader(unit: str | None, comma: bool) -> Callable[[str], float]:
    if unit is None:
        return lambda cell: parse_number(cell, decimal_comma=comma)
    return lambda cell: parse_length(cell, unit, decimal_comma=comma)


def _refuse_mixed_points(parsed: Parsed, column: Column, cells: np.ndarray) -> None:
    """Where commas are decimal, a point in the same column could part thousands: refused."""
    if not any("," in cell for cell in cells):
        return
    for row, cell in enumerate(cells):
        if "." in cell and "," not in cell:
            parsed.refuse(
                row, column.frame_name, f"{cell!r} has a point where other cells have commas", "one decimal mark"
            )


def _remedy(cell: str, header: str) -> str:
    """What to do about a cell that is no number."""
    if "," in cell:
        return "write a decimal point, or read the book with --decimal-comma"
    if _ISO_DATE.match(cell):
        return "the spreadsheet has turned a fraction into a date: format the column as text and type it again"
    if "/" in cell and not header.endswith("_in"):
        return "fractions are read in columns that end in _in only"
    return "correct the cell, or leave it blank if it is not known"


def _read_dates(parsed: Parsed, column: Column, header: str) -> np.ndarray:
    """datetime64 array of ISO dates; blanks NaT."""
    cells = parsed.sheet.cells[header]
    days = np.full(len(cells), np.datetime64("NaT", "ns"), dtype="datetime64[ns]")
    known: dict[str, np.datetime64] = {}
    for row, cell in enumerate(cells):
        if not cell:
            continue
        if cell not in known:
            known[cell] = _day(cell)
        days[row] = known[cell]
        if np.isnat(days[row]):
            parsed.refuse(row, column.frame_name, f"{_shortened(repr(cell))} is not an ISO date",
                          "year-month-day, such as 2025-03-04")  # fmt: skip
    return days


def _day(cell: str) -> np.datetime64:
    """The day of an ISO date between 1900 and 2199, else NaT."""
    if not _ISO_DATE.fullmatch(cell) or not "1900" <= cell[:4] < "2200":
        return np.datetime64("NaT", "ns")
    try:
        return np.datetime64(cell[:10], "ns")
    except ValueError:
        return np.datetime64("NaT", "ns")


def _read_choices(parsed: Parsed, column: Column, header: str) -> np.ndarray:
    """Object array of the column's choices, whatever the letter case typed; blanks None."""
    cells = parsed.sheet.cells[header]
    meant: dict[str, str | None] = {"": None}
    expected = ", ".join(column.choices)
    for cell in set(cells) - {""}:
        plain = cell.casefold().replace(" ", "_")
        meant[cell] = plain if plain in column.choices else None
        if meant[cell] is None:
            close = difflib.get_close_matches(plain, column.choices, 1)
            remedy = f"is it {close[0]!r}?" if close else ""
            for row in np.flatnonzero(cells == cell):
                parsed.refuse(row, column.frame_name, f"{_shortened(repr(cell))} is not one of the choices",
                              expected, remedy)  # fmt: skip
    return _mapped(cells, meant)


def _read_texts(parsed: Parsed, column: Column, header: str) -> np.ndarray:
    """Object array of texts, blanks None; a pattern that a cell does not follow is an error."""
    texts = _texts(parsed.sheet.cells[header])
    if column.pattern:
        pattern = re.compile(column.pattern, re.ASCII)
        texts = _mapped(texts, {text: text and text.upper() for text in set(texts)})
        for row, text in enumerate(texts):
            if text is not None and not pattern.fullmatch(text):
                parsed.refuse(row, column.frame_name, f"{_shortened(repr(text))} is not understood", column.meaning,
                              "leave it blank if it is not known" if not column.filled else "")  # fmt: skip
    return texts


def _read_ids(parsed: Parsed, column: Column, header: str) -> np.ndarray:
    """Object array of names; one with letters that cannot be seen is refused, for it would never match."""
    texts = _texts(parsed.sheet.cells[header])
    odd = {text for text in set(texts) if text and (len(text) > _LONGEST_ID or not text.isprintable())}
    for row in np.flatnonzero(np.isin(texts, list(odd))) if odd else ():
        parsed.refuse(row, column.frame_name, f"{_shortened(ascii(texts[row]))} cannot be used as a name",
                      f"at most {_LONGEST_ID} visible letters", "type the cell again")  # fmt: skip
    return texts


def _texts(cells: np.ndarray) -> np.ndarray:
    """Texts in composed Unicode form, blanks None, the guard before a formula sign taken off."""
    return _mapped(cells, {cell: _plain(cell) for cell in set(cells)})


def _plain(cell: str) -> str | None:
    if not cell:
        return None
    return unicodedata.normalize("NFC", cell[1:] if _GUARDED.match(cell) else cell)


def _mapped(cells: np.ndarray, meant: dict) -> np.ndarray:
    """Object array of `meant[cell]` for every cell."""
    texts = np.empty(len(cells), dtype=object)
    texts[:] = [meant[cell] for cell in cells]
    return texts


def _blank(column: Column, count: int) -> np.ndarray:
    """A column that the sheet does not have: unknown in every row."""
    if column.numeric:
        return np.full(count, np.nan)
    if column.kind == "date":
        return np.full(count, np.datetime64("NaT", "ns"), dtype="datetime64[ns]")
    return np.full(count, None, dtype=object)


def _dtype(values: np.ndarray | pd.Series) -> np.dtype:
    return np.dtype(values.dtype)


def _shortened(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


_READERS: dict[str, Callable[[Parsed, Column, str], np.ndarray]] = {
    "id": _read_ids,
    "text": _read_texts,
    "choice": _read_choices,
    "length": _read_numbers,
    "number": _read_numbers,
    "whole": _read_numbers,
    "date": _read_dates,
}
