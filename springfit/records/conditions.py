"""How a batch was, or is to be, spun: one frozen object, from a batch's row or a conditions file."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import BookError, Finding, only_errors
from springfit.records.blank_cells import USUAL_WALL_MM, is_blank
from springfit.records.columns import Table
from springfit.records.sheets.csv_text import csv_sheet
from springfit.records.sheets.parsing import Parsed, parse_sheet
from springfit.records.sheets.schemas import schema_findings
from springfit.records.sheets.sheet import Sheet
from springfit.records.sheets.workbook import workbook_sheets
from springfit.records.tables import CONDITIONS, FEWEST_STATIONS, PROFILE

__all__ = ["Conditions", "conditions_of", "read_conditions", "read_profile"]

_WHOLE = ("passes", "back_passes")


@dataclass(frozen=True)
class Conditions:
    """What was done to a batch; None is *unknown*. Lengths [mm], rims are diameters, speed [1/min]."""

    name: str
    alloy: str
    temper: str | None = None
    lot: str | None = None
    wall_mm: float | None = None
    anneal: str | None = None
    draw_end_mm: float | None = None
    draw_ring: str | None = None
    passes: int | None = None
    back_passes: int | None = None
    hump: str | None = None
    bolt_checked: str | None = None
    tool_nose_mm: float | None = None
    spindle_rpm: float | None = None
    lubricant: str | None = None
    spinner: str | None = None
    blank_rim_mm: float | None = None
    finished_rim_mm: float | None = None

    @property
    def wall_or_usual(self) -> float:
        """The wall [mm] of its sheet, the usual one where that is unknown."""
        return self.wall_mm or USUAL_WALL_MM


_CONDITION_FIELDS = tuple(field.name for field in fields(Conditions) if field.name != "name")


def conditions_of(row: pd.Series, *, name: str) -> Conditions:
    """The conditions in a row that has the columns of `batches`, under a name."""
    values: dict[str, Any] = {column: _known(column, row[column]) for column in _CONDITION_FIELDS}
    return Conditions(name=name, **values)


def read_conditions(path: str | Path, *, decimal_comma: bool = False) -> tuple[Conditions, ...]:
    """Every row of a conditions file (CSV, or the sheet `conditions` of a workbook): the columns of `batches` without
    ids, and optionally `name`.

    A row without a name is called by its line, `row 2`. Raises BookError with all problems.
    """
    parsed, findings = _parsed(Path(path), CONDITIONS, decimal_comma)
    frame = parsed.frame
    names = [name or f"row {line}" for name, line in zip(frame["name"], frame["source_row"], strict=True)]
    for row in np.flatnonzero(pd.Series(names).duplicated()):
        findings.append(
            Finding(
                "error",
                parsed.sheet.file,
                int(parsed.sheet.rows[row]),
                "name",
                f"the name {names[row]!r} stands twice",
                "a name of its own for every row",
            )
        )
    _stop_on_errors(findings)
    rows = (row for _, row in frame.iterrows())
    return tuple(conditions_of(row, name=name) for name, row in zip(names, rows, strict=True))


def read_profile(path: str | Path, *, decimal_comma: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """Stations z [mm] and diameters [mm] of a draft mandrel's file (CSV, or the sheet `profile` of a workbook), tail to
    rim. Raises BookError."""
    parsed, findings = _parsed(Path(path), PROFILE, decimal_comma)
    z, diameter = (parsed.frame[name].to_numpy(float) for name in ("z_mm", "diameter_mm"))
    for row in np.flatnonzero(np.diff(z) <= 0) + 1:
        findings.append(
            Finding(
                "error",
                parsed.sheet.file,
                int(parsed.sheet.rows[row]),
                parsed.headers["z_mm"],
                "z does not increase",
                "stations in order from the tail to the rim",
            )
        )
    if len(z) < FEWEST_STATIONS and not only_errors(findings):
        findings.append(
            Finding(
                "error",
                parsed.sheet.file,
                None,
                None,
                f"the profile has {len(z)} stations",
                f"at least {FEWEST_STATIONS} from tail to rim",
            )
        )
    _stop_on_errors(findings)
    return z, diameter


def _parsed(path: Path, table: Table, decimal_comma: bool) -> tuple[Parsed, list[Finding]]:
    """The one sheet of a file, parsed and checked by the table's schema; BookError when there is none."""
    try:
        data = path.read_bytes()
    except OSError as failed:
        what = f"the file cannot be read ({failed.strerror})"
        expected = f"a CSV file ({table.name})"
        raise BookError([Finding("error", str(path), None, None, what, expected)]) from None
    if path.suffix.lower() == ".xlsx":
        sheet, findings = _of_workbook(path.name, data, table, decimal_comma)
    else:
        sheet, findings = csv_sheet(path.name, data, table, decimal_comma=decimal_comma)
    if sheet is None:
        raise BookError(findings)
    parsed = parse_sheet(sheet, table)
    findings += parsed.findings + schema_findings(parsed)
    if not len(sheet):
        findings.append(Finding("error", path.name, None, None, "the file has no rows", "at least one"))
    return parsed, findings


def _of_workbook(
    file: str, data: bytes, table: Table, decimal_comma: bool
) -> tuple[Sheet | None, list[Finding]]:
    """The sheet of a workbook that is named as the table, or the only one there is."""

    def named(title: str) -> Table | None:
        return table if title.strip().casefold().startswith(table.name) else None

    sheets, findings, others = workbook_sheets(file, data, named, decimal_comma=decimal_comma)
    if not sheets and len(others) == 1:
        sheets, findings, others = workbook_sheets(file, data, lambda _: table, decimal_comma=decimal_comma)
    if len(sheets) != 1 and not only_errors(findings):
        titles = ", ".join([*(sheet.file for _, sheet in sheets), *others]) or "none"
        what, expected = f"the workbook has the sheets {titles}", f"one sheet named {table.name}"
        findings.append(Finding("error", file, None, None, what, expected, "rename the one that is meant"))
    good = not only_errors(findings) and len(sheets) == 1 and sheets[0][1].header
    return (sheets[0][1] if good else None), findings


def _stop_on_errors(findings: list[Finding]) -> None:
    if only_errors(findings):
        raise BookError(findings)


def _known(name: str, value: object) -> object:
    """The value, or None for a blank; counts as int, numbers as plain float."""
    if is_blank(value):
        return None
    if isinstance(value, float):
        return int(value) if name in _WHOLE else float(value)
    return value
