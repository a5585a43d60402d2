"""Sheets typed from another's: whole, in another order, half of them or with a value changed; spun ones as trimmed."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET
from springfit.records.reading_kinds import DIAMETERS

__all__ = ["copied_sheets"]

# Bells of a batch differ by some hundredths of a mm and are read to thousandths: in the demo and the three sample shops
# no two sheets share more than four readings at the same stations, and none above four a third of them.
_FEWEST_ALIKE = 8  # different values alike to the last figure; twice the four of sound ones
_SHARE = 0.4  # of the shorter sheet; above their third
_MOST_SHEETS = 6  # that have one reading: more of them are a coarse scale, not a copy; assumed
_SAME = ["kind", "z_mm", "value_mm", "angle_deg"]

Pair = tuple[int, int]


def copied_sheets(book: Book) -> list[Finding]:
    """A doubt, setting the bells aside, where two sheets of diameters share most of their readings."""
    readings = book.measurements
    rows = readings.loc[readings["kind"].isin(DIAMETERS), [*SHEET, "z_mm", "value_mm", "angle_deg"]]
    sheets = rows.groupby(SHEET, sort=False)
    number, size = sheets.ngroup(), sheets.size().tolist()
    keys = [tuple(map(str, key)) for key in sheets.size().index]
    first = [int(at[0]) for at in sheets.indices.values()]
    findings: list[Finding] = []
    for (one, other), (count, different) in _shared(rows, number, keys).items():
        if different < _FEWEST_ALIKE or count < _SHARE * min(size[one], size[other]):
            continue
        said = _said(keys[one], keys[other], count)
        for bell, sheet in dict.fromkeys([(keys[one][0], one), (keys[other][0], other)]):
            if any(f.subject == bell and f.what == said for f in findings):
                continue
            findings.append(
                book.finding(
                    "doubt", "measurements", rows.index[first[sheet]], "value_mm", subject=bell, sets_aside=True,
                    what=said, expected="a sheet of its own for every bell and stage",
                    remedy="set aside until the copied one is taken out",
                )
            )  # fmt: skip
    return findings


def _shared(rows: pd.DataFrame, number: pd.Series, keys: list[tuple[str, ...]]) -> dict[Pair, tuple[int, int]]:
    """For each pair of sheets in how many places they have the same value, and how many different ones."""
    same = rows.assign(sheet=number, angle_deg=rows["angle_deg"].fillna(-1.0))
    same = same[same.duplicated(_SAME, keep=False)]
    same = same.assign(place=same.groupby(_SAME, sort=False).ngroup()).drop_duplicates(["place", "sheet"])
    same = same[same.groupby("place")["sheet"].transform("size") <= _MOST_SHEETS]
    same = same[["place", "sheet", "value_mm"]].sort_values(["place", "sheet"], kind="stable")
    pairs = same.merge(same[["place", "sheet"]], on="place", suffixes=("", "_other"))
    pairs = pairs[pairs["sheet"] < pairs["sheet_other"]]
    bell, stage = (np.array([key[n] for key in keys], dtype=object) for n in (0, 1))
    one, other = pairs["sheet"].to_numpy(), pairs["sheet_other"].to_numpy()
    # Of one bell or of one stage, but not of both: two kinds of reading of a bell may well share values.
    pairs = pairs[(bell[one] == bell[other]) ^ (stage[one] == stage[other])]
    told = pairs.groupby(["sheet", "sheet_other"], sort=False)["value_mm"].agg(["size", "nunique"])
    return dict(zip(told.index, zip(told["size"].tolist(), told["nunique"].tolist(), strict=True), strict=True))


def _said(one: tuple[str, ...], other: tuple[str, ...], count: int) -> str:
    if one[0] == other[0]:
        return f"bell {one[0]!r} has {count} readings of {one[2]} alike as {one[1]} and as {other[1]}"
    return f"bells {one[0]!r} and {other[0]!r} share {count} readings ({', '.join(one[1:])})"
