"""Which declared column each header of a sheet names, by quantity and unit; misnamed, missing, extra ones."""

from __future__ import annotations

import difflib
import re

from springfit.findings import Finding
from springfit.lengths import MM_PER_UNIT, split_unit
from springfit.records.columns import Column, Table
from springfit.records.sheets.sheet import Sheet

__all__ = ["match_headers"]

_ALIKE = 0.8  # similarity of two names from which one is taken for a misspelling of the other; by judgement
_ALL_WRONG = 3  # columns missing at once, none of them misspelt: one cause, one sentence
_LONGEST_UNIT = 7  # letters of what may be meant as a unit after the name of a length; as long as a unit is written out


def match_headers(sheet: Sheet, table: Table) -> tuple[dict[str, str], list[Finding]]:
    """Quantity to header for the declared columns that the sheet has; findings about its other headers."""
    matched: dict[str, str] = {}
    extras: list[str] = []
    misnamed: set[str] = set()
    findings: list[Finding] = []
    for header in sheet.header:
        name = _quantity(header, table)
        wrong = None if name else _length_of_unknown_unit(header, table)
        if name is None and wrong is None:
            extras.append(header)
        elif wrong is not None:
            misnamed.add(wrong.name)
            findings.append(_no_unit(sheet, header, wrong))
        elif name in matched:
            what = f"{name} stands in two units, {matched[name]} and {header}"
            findings.append(
                Finding(
                    "error",
                    sheet.file,
                    sheet.header_row,
                    header,
                    what,
                    "each quantity once",
                    "keep one of the two",
                )
            )
        elif name:
            matched[name] = header
    absent = [
        column for column in table.columns if column.name not in matched and column.name not in misnamed
    ]
    findings += _missing(sheet, extras, [column for column in absent if column.filled or column.present])
    findings += _extra(sheet, extras, [column for column in absent if not (column.filled or column.present)])
    return matched, findings


def _quantity(header: str, table: Table) -> str | None:
    """The declared quantity that a header names with its unit; None for another."""
    name, unit = split_unit(header)
    if unit is not None and name in table.by_name and table.by_name[name].kind == "length":
        return name
    if header in table.by_name and table.by_name[header].kind != "length":
        return header
    return None


def _length_of_unknown_unit(header: str, table: Table) -> Column | None:
    """The length that a header names without a unit, or with one that is not known; else None."""
    stem, _, unit = header.rpartition("_")
    for name in (header, stem if len(unit) <= _LONGEST_UNIT else ""):
        if name in table.by_name and table.by_name[name].kind == "length":
            return table.by_name[name]
    return None


def _written(column: Column) -> str:
    """How a header names the column."""
    if column.kind != "length":
        return column.name
    return " or ".join(f"{column.name}_{unit}" for unit in MM_PER_UNIT)


def _no_unit(sheet: Sheet, header: str, column: Column) -> Finding:
    what = f"the column {header} has no unit that is known"
    remedy = "put the unit that was used into the column's name"
    return Finding("error", sheet.file, sheet.header_row, header, what, _written(column), remedy)


def _missing(sheet: Sheet, extras: list[str], columns: list[Column]) -> list[Finding]:
    """An error for each column that must be there, with the extra header that may be meant for it."""
    findings = []
    if columns and len(sheet.header) == 1 and (names := _names_in(sheet.header[0], columns)):
        what = f"the columns {', '.join(names)} stand in one cell: the cells of a row are not parted"
        expected = "cells parted by commas, semicolons or tabs"
        remedy = "save the sheet as CSV UTF-8; what parts the cells may also be named in a first line such as sep=;"
        return [Finding("error", sheet.file, sheet.header_row, None, what, expected, remedy)]
    if len(columns) >= _ALL_WRONG and not any(_close(column.name, extras) for column in columns):
        what = f"the columns {', '.join(column.name for column in columns)} are missing"
        expected = f"a row of column names: {', '.join(_written(column) for column in columns)}"
        remedy = "name each column in one row, with its unit; titles may stand above it"
        return [Finding("error", sheet.file, sheet.header_row, None, what, expected, remedy)]
    for column in columns:
        close = _close(column.name, extras)
        remedy = f"is it the column {close!r}?" if close else "add it"
        what = f"the column {column.name} is missing"
        findings.append(
            Finding("error", sheet.file, sheet.header_row, column.name, what, _written(column), remedy)
        )
    return findings


def _names_in(header: str, columns: list[Column]) -> list[str]:
    """Those of the columns that one cell names, where it names several."""
    words = {split_unit(word)[0] for word in re.findall(r"[a-z0-9_]+", header)}
    names = [column.name for column in columns if column.name in words]
    return names if len(names) > 1 else []


def _extra(sheet: Sheet, extras: list[str], absent: list[Column]) -> list[Finding]:
    """Extra columns are listed once; one that looks like a misspelt column is a doubt of its own."""
    findings, others = [], []
    for extra in extras:
        meant = next((column for column in absent if _close(column.name, [extra])), None)
        if meant is None:
            others.append(extra)
            continue
        what, remedy = f"the column {extra} is not read", "correct the name if that is what it holds"
        findings.append(Finding("doubt", sheet.file, sheet.header_row, extra, what, _written(meant), remedy))
    if others:
        what = f"extra columns, kept but not used: {', '.join(others)}"
        findings.append(Finding("note", sheet.file, sheet.header_row, None, what, ""))
    return findings


def _close(name: str, headers: list[str]) -> str | None:
    """The header whose quantity is spelt most like `name`, if any is."""
    by_quantity = {split_unit(header)[0]: header for header in headers}
    close = difflib.get_close_matches(name, list(by_quantity), 1, _ALIKE)
    return by_quantity[close[0]] if close else None
