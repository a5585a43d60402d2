"""The declared tables as pandera schemas, and their failures as findings at file, row and column."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandera.pandas as pa
from pandera.errors import SchemaErrors

from springfit.findings import Finding
from springfit.lengths import MM_PER_UNIT, from_mm, split_unit
from springfit.records.columns import Column, Table
from springfit.records.sheets.days import is_bare_number
from springfit.records.sheets.parsing import Parsed

__all__ = ["other_unit", "schema_findings", "schema_of"]


@cache
def schema_of(table: Table) -> pa.DataFrameSchema:
    """A schema of the table's frame: kinds, filled cells, possible ranges; extra columns are let through."""
    return pa.DataFrameSchema(
        {column.frame_name: _column(column) for column in table.columns}, strict=False, name=table.name
    )


def _column(column: Column) -> pa.Column:
    checks = []
    if column.low is not None and column.high is not None:
        checks.append(pa.Check.in_range(column.low, column.high))
    if column.choices:
        checks.append(pa.Check.isin(column.choices))
    kind = {"date": "datetime64[ns]"}.get(column.kind, "float64" if column.numeric else None)
    return pa.Column(kind, checks, nullable=not column.filled)


def schema_findings(parsed: Parsed) -> list[Finding]:
    """What the table's schema finds in a parsed sheet, leaving out cells already refused when read."""
    if not len(parsed.frame):
        return []
    try:
        schema_of(parsed.table).validate(parsed.frame, lazy=True)
    except SchemaErrors as failed:
        cases = failed.failure_cases
        cases = cases[cases["index"].notna()].sort_values(["column", "index"], kind="stable")
        return [
            _finding(parsed, str(case.column), int(case.index_), str(case.check))
            for case in cases.rename(columns={"index": "index_"}).itertuples()
            if (int(case.index_), str(case.column)) not in parsed.unread
            and str(case.column) in parsed.headers
        ]
    return []


def _finding(parsed: Parsed, frame_name: str, row: int, check: str) -> Finding:
    column, header = parsed.table.column(frame_name), parsed.headers[frame_name]
    place = (parsed.sheet.file, int(parsed.sheet.rows[row]), header)
    if check == "not_nullable":
        meaning = column.meaning or f"a {_noun(column)} in every row"
        return Finding("error", *place, f"{header} is blank", meaning, "fill it in, or take the row out")
    cell = parsed.sheet.cells[header][row]
    unit = split_unit(header)[1] if column.kind == "length" else None
    assert column.low is not None and column.high is not None  # the only other checks are ranges
    low, high = (from_mm(bound, unit) if unit else bound for bound in (column.low, column.high))
    expected = f"{low:.6g} to {high:.6g} {unit or ''}".rstrip()
    remedy = other_unit(column, unit, parsed.frame[frame_name].iloc[row])
    if unit == "in" and is_bare_number(cell):
        remedy = "is it a fraction that the spreadsheet made a day of? Set its cells to text and type them again"
    return Finding("error", *place, f"{cell!r} is impossible", expected, remedy)


def other_unit(column: Column, unit: str | None, value: float) -> str:
    """Which other unit would make a length [mm] an ordinary one, as a remedy; empty when none does."""
    if unit is None or column.usual is None or not np.isfinite(value):
        return ""
    typed = from_mm(value, unit)
    fits = [
        other
        for other in MM_PER_UNIT
        if other != unit and column.usual[0] <= typed * MM_PER_UNIT[other] <= column.usual[1]
    ]
    return f"it would be usual in {' or '.join(fits)}: was it typed in another unit?" if fits else ""


def _noun(column: Column) -> str:
    if column.numeric:
        return "number"
    return {"date": "date", "id": "name", "choice": "choice"}.get(column.kind, "text")
