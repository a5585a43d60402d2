"""The record book described in an open standard, so that programs other than this one can read and check it.

`datapackage.json` (Data Package 2.0, datapackage.org) has a resource for every file of the book with its Table Schema:
the columns of that file in their units, what each may hold, keys, and which rows of other tables they name. Everything
in it comes from `tables`. It says less than the book's own check, which also knows what hangs together by day and
steel, and is stricter about spelling: choices in small letters, whole numbers without a point, columns as named here.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping
from typing import Any

from springfit.lengths import INCH_PATTERN, from_mm, split_unit
from springfit.records.columns import Column, Reference, Table
from springfit.records.reading_kinds import DATUMS, KINDS
from springfit.records.sheets.sheet import Sheet
from springfit.records.sheets.sources import TableSheets
from springfit.records.tables import REFERENCES, TABLES

__all__ = ["PACKAGE", "package_bytes"]

PACKAGE = "datapackage.json"
_PROFILES = "https://datapackage.org/profiles/2.0"
_DECIMALS = 9  # of a bound turned into inches: finer than any gauge, coarser than the rounding of a division
_TYPES = {"whole": "integer", "number": "number", "length": "number", "date": "date"}  # all others: string
_WORDS = {
    "kind": "; ".join(f"{kind.name}: z is the {kind.z}, value the {kind.value}" for kind in KINDS.values()),
    "datum": "z = 0 is tied to: " + "; ".join(f"{datum.name}: {datum.zero}" for datum in DATUMS.values()),
}


def package_bytes(sheets: TableSheets) -> bytes:
    """`datapackage.json` of a book of CSV files, of which only names and headers are looked at.

    A reference to a table in several files is left out: the standard knows references to one resource only.
    """
    files = Counter(table for table, _ in sheets)
    parents = {table: sheet for table, sheet in sheets if files[table] == 1}
    told = {
        "$schema": f"{_PROFILES}/datapackage.json",
        "name": "record-book",
        "title": "Record book of a bell spinner",
        "description": "Units stand in the column names (_mm, _in, _thou). A blank is unknown.",
        "resources": [_resource(TABLES[table], sheet, parents) for table, sheet in sheets],
    }
    return (json.dumps(told, indent=1, ensure_ascii=False) + "\n").encode("utf-8")


def _resource(table: Table, sheet: Sheet, parents: Mapping[str, Sheet]) -> dict[str, Any]:
    schema: dict[str, Any] = {
        "$schema": f"{_PROFILES}/tableschema.json",
        "fields": [_field(table, header) for header in sheet.header],
        "missingValues": [""],
    }
    headers = {_quantity(header, table): header for header in sheet.header}
    key = [table.column(name).name for name in table.key]
    if key and set(key) <= headers.keys():
        schema["primaryKey"] = [headers[name] for name in key]
    references = [
        _reference(one, parents[one.parent])
        for one in REFERENCES
        if one.child == table.name
        and one.parent in parents
        # A bell's file without a gauge column, say, can name no gauge.
        and set(one.columns) <= set(sheet.header) & set(parents[one.parent].header)
    ]
    if references:
        schema["foreignKeys"] = references
    return {
        "name": _name(sheet.file), "type": "table", "path": sheet.file, "format": "csv", "mediatype": "text/csv",
        "encoding": "utf-8", "schema": schema,
    }  # fmt: skip


def _reference(reference: Reference, parent: Sheet) -> dict[str, Any]:
    columns = list(reference.columns)
    return {"fields": columns, "reference": {"resource": _name(parent.file), "fields": columns}}


def _quantity(header: str, table: Table) -> str:
    """The quantity that a header names, without its unit."""
    return header if header in table.by_name else split_unit(header)[0]


def _name(file: str) -> str:
    """Name of a file's resource: small letters, figures, points, dashes and underscores only."""
    stem = file.lower().removesuffix(".csv")
    return re.sub(r"[^a-z0-9._-]", "-", stem)


def _field(table: Table, header: str) -> dict[str, Any]:
    """The Table Schema field of one column of a file; one that the book does not declare may hold anything."""
    column, unit = table.by_name.get(_quantity(header, table)), None
    if header not in table.by_name:
        unit = split_unit(header)[1]
    if column is None or (column.kind == "length") != (unit is not None):
        return {"name": header, "type": "any", "description": "not declared; kept and not used"}
    kind = "string" if unit == "in" else _TYPES.get(column.kind, "string")
    field: dict[str, Any] = {"name": header, "type": kind}
    said = column.meaning or _WORDS.get(column.name, "")
    if unit == "in":
        said = "; ".join(part for part in (said, "inches: a number or a fraction such as 2-3/8") if part)
    if said:
        field["description"] = said
    constraints = _constraints(column, unit)
    if constraints:
        field["constraints"] = constraints
    return field


def _constraints(column: Column, unit: str | None) -> dict[str, Any]:
    held: dict[str, Any] = {"required": True} if column.filled else {}
    if column.choices:
        held["enum"] = list(column.choices)
    if unit == "in":
        held["pattern"] = INCH_PATTERN
    elif column.pattern:
        held["pattern"] = f"({column.pattern})"
    elif column.low is not None and column.high is not None:
        bounds = {"minimum": column.low, "maximum": column.high}
        held |= {name: round(from_mm(mm, unit), _DECIMALS) if unit else mm for name, mm in bounds.items()}
    return held
