"""Tables on their way out: cells with the unit in the column's name, as CSV and JSON.

A frame comes in mm with `_mm` columns and leaves in the wanted unit with `_mm` or `_in` columns. The same
cells feed the CSV files and the printed tables, so a number on paper is the number in the file.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from springfit.lengths import MM_PER_UNIT, split_unit
from springfit.records.sheets.formula_guard import guarded
from springfit.reporting.wording.length_wording import Units

__all__ = ["DATA_DECIMALS", "SHOP_DECIMALS", "cells", "csv_bytes", "for_the_hand", "json_bytes"]

SHOP_DECIMALS = {"mm": 3, "in": 4}  # sizes that are read at the machine
DATA_DECIMALS = {"mm": 4, "in": 5}  # curves another program reads: rounding must not make a profile wavy
_ROUGH = {"in": 0.001, "mm": 0.02}  # what a step is turned to before the skive: a division of the dial
_FINE = {"in": 0.0005, "mm": 0.01}  # what a size is finished to: half of it, the finest that is read off a caliper
_LEAST_SINE = 0.5  # of a line read as z, which is steeper than 45 degrees (0.7): guards a quotient of two roundings
_OTHER_DECIMALS = 6  # angles, shares and chances


def cells(
    frame: pd.DataFrame, units: Units, *, decimals: Mapping[str, int]
) -> tuple[list[str], list[list[str]]]:
    """Column names and rows of text of a frame, lengths turned into `units` and rounded to `decimals`."""
    names, columns = [], []
    for column in frame.columns:
        name, unit = split_unit(str(column))
        if unit is None:
            names.append(str(column))
            columns.append([_cell(value, 1.0, _OTHER_DECIMALS) for value in frame[column]])
        else:
            names.append(f"{name}_{units}")
            scale = MM_PER_UNIT[unit] / MM_PER_UNIT[units]
            columns.append([_cell(value, scale, decimals[units], fixed=True) for value in frame[column]])
    return names, [list(row) for row in zip(*columns, strict=True)]


def csv_bytes(frame: pd.DataFrame, units: Units, *, decimals: Mapping[str, int]) -> bytes:
    """The frame as UTF-8 CSV in `units`; a text that looks like a formula gets a leading quote."""
    harmless = frame.map(lambda value: _harmless(value) if isinstance(value, str) else value)
    names, rows = cells(harmless, units, decimals=decimals)
    page = io.StringIO(newline="")
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(names)
    writer.writerows(rows)
    return page.getvalue().encode("utf-8")


def json_bytes(facts: Mapping[str, Any], units: Units) -> bytes:
    """Facts as JSON; a key ending in `_mm` leaves in `units` under its name; what is not finite is null."""
    converted: dict[str, Any] = {}
    for key, value in facts.items():
        name, unit = split_unit(key)
        if unit is None:
            converted[key] = _plain(value)
        else:
            length = _plain(value)
            scale = MM_PER_UNIT[unit] / MM_PER_UNIT[units]
            converted[f"{name}_{units}"] = (
                None if length is None else round(length * scale, DATA_DECIMALS[units]) + 0.0
            )
    return (json.dumps(converted, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode("utf-8")


def _cell(value: Any, scale: float, decimals: int, *, fixed: bool = False) -> str:
    """One value as text: blank for unknown, yes or no as true or false, numbers rounded."""
    value = _plain(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) or (fixed and isinstance(value, int)):
        rounded = round(value * scale, decimals) + 0.0
        return f"{rounded:.{decimals}f}" if fixed else f"{rounded:.{decimals}f}".rstrip("0").rstrip(".")
    if isinstance(value, Sequence) and not isinstance(value, str):
        return " ".join(_cell(item, scale, decimals, fixed=fixed) for item in value)
    return str(value)


def _plain(value: Any) -> Any:
    """A value of numpy or pandas as Python's own, containers gone through; what is not finite is None."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _harmless(cell: str) -> str:
    """A text on one line that no spreadsheet takes for a formula."""
    line = "".join(letter if letter.isprintable() else " " for letter in cell)
    return guarded(line)


def for_the_hand(table: pd.DataFrame, units: Units) -> pd.DataFrame:
    """The cut table [mm] with diameters rounded up to round sizes of `units`; what would then stand above the present
    steel is the present steel, and a row whose finish is the present size, or whose removal is printed as nothing, is
    no row of a cut. No inspection range holds uncut steel; it is blank where no gauge tells the finish from that."""
    if not len(table):
        return table
    cuts = bool((table["removal_mm"] > 0.0).all())
    rounded = table.copy()
    for column, step in (
        ("diameter_mm", _ROUGH), ("finish_diameter_mm", _FINE), ("do_not_pass_diameter_mm", _FINE)
    ):  # fmt: skip
        size = step[units] * MM_PER_UNIT[units]
        rounded[column] = np.ceil(table[column] / size - 1e-6) * size
        if cuts:
            rounded[column] = np.minimum(rounded[column], table["present_diameter_mm"])
    # What comes off is told by the sizes stated: a hand that checks the one by the other finds them agree.
    off, whole = (one["present_diameter_mm"] - one["finish_diameter_mm"] for one in (rounded, table))
    if cuts:
        printed = 10.0 ** -SHOP_DECIMALS[units] * MM_PER_UNIT[units]
        rounded["removal_mm"] = table["removal_mm"] * np.clip(off / whole, 0.0, 1.0)
        kept = (off > 0.5 * printed) & (rounded["removal_mm"] > 0.5 * printed)
        table, rounded = table[kept], rounded[kept].assign(step=np.arange(1, int(kept.sum()) + 1))
    elif len(table) > 1:  # a new flare: the share of so little is no share, the slope of the line is as good
        slope = np.arctan(np.gradient(0.5 * table["finish_diameter_mm"].to_numpy(), table["z_mm"].to_numpy()))
        rounded["removal_mm"] = table["removal_mm"] + 0.5 * (off - whole) * np.cos(slope)
    return _inspected_as_stated(table, rounded, _FINE[units] * MM_PER_UNIT[units] if cuts else 0.0)


def _inspected_as_stated(table: pd.DataFrame, rounded: pd.DataFrame, told: float) -> pd.DataFrame:
    """`rounded` with the inspection ranges of `table` gone along with the sizes as stated. told: the least that a gauge
    tells [mm]; a range ends so far from uncut steel, and one narrower than that is none; 0 where nothing stands yet."""
    by_size = (table["read"] == "diameter").to_numpy()
    moved = (rounded["finish_diameter_mm"] - table["finish_diameter_mm"]).to_numpy()
    low, high = ((table[f"inspect_{end}_mm"] + np.where(by_size, moved, 0.0)).to_numpy() for end in ("low", "high"))
    if told:
        removal, off = (rounded[name].to_numpy() for name in ("removal_mm", "present_diameter_mm"))
        off = off - rounded["finish_diameter_mm"].to_numpy()
        sine = np.sqrt(np.clip(1.0 - (2.0 * removal / off) ** 2, _LEAST_SINE**2, 1.0))
        high = np.where(by_size, np.minimum(high, rounded["present_diameter_mm"] - told), high)
        # on a steep line uncut steel has the same diameter nearer the tail, by the removal along the axis
        low = np.where(by_size, low, np.maximum(low, high - removal / sine + told))
        low, high = (np.where(high - low >= told - 1e-6, end, np.nan) for end in (low, high))
    return rounded.assign(inspect_low_mm=low, inspect_high_mm=high).reset_index(drop=True)
