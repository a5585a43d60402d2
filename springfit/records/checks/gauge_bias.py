"""Gauges that disagree: two gauges on the same bell, in the same way, should read the same."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import in_thousandths, in_words
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET

__all__ = ["biased_gauges"]

_FEWEST_BELLS = 4  # that both gauges measured: with fewer the standard error is itself a guess (3 degrees of freedom)
_SIGMAS = 5.0  # bias over its standard error: with four bells one sound pair in 65 exceeds it (Student's t, 3 d.o.f.)
_LEAST_MM = 0.01  # of diameter: the larger gauge errors in use are as much; less is no reason to stop using a gauge
_REACH_MM = 15.0  # between readings of the other gauge: a flare of 200 mm radius leaves a chord of it by 0.14 mm


def biased_gauges(book: Book, readings: pd.DataFrame) -> list[Finding]:
    """A doubt for each pair of gauges whose readings differ on the same bells, with the estimated bias.

    Distances from the steel are compared, not values, so that stations need not coincide: the second gauge's
    are interpolated between its own stations. The bells' mean differences give bias and standard error.
    """
    several = readings.groupby(SHEET, sort=False)["gauge_id"].transform("nunique") > 1
    by = [*SHEET, "gauge_id", "station_mm"]
    mean = readings[several].groupby(by, sort=False)["gap_mm"].mean().reset_index()
    differ: dict[tuple[str, str], dict[str, list[float]]] = {}
    for key, sheet in mean.groupby(SHEET, sort=False):
        gauges = {str(gauge): rows.sort_values("station_mm") for gauge, rows in sheet.groupby("gauge_id")}
        for first, second in itertools.combinations(sorted(gauges), 2):
            difference = _difference(gauges[first], gauges[second])
            if not np.isnan(difference):
                differ.setdefault((first, second), {}).setdefault(str(key[0]), []).append(difference)
    found = (
        _finding(book, pair, [float(np.mean(d)) for d in bells.values()]) for pair, bells in differ.items()
    )
    return [finding for finding in found if finding is not None]


def _difference(first: pd.DataFrame, second: pd.DataFrame) -> float:
    """Median of first minus second [mm, of diameter] where both measured; NaN where they did not."""
    at, off = first["station_mm"].to_numpy(float), first["gap_mm"].to_numpy(float)
    other_at, other_off = second["station_mm"].to_numpy(float), second["gap_mm"].to_numpy(float)
    after = np.clip(np.searchsorted(other_at, at), 1, max(len(other_at) - 1, 1))
    if len(other_at) < 2:
        return float("nan")
    near = (at >= other_at[0]) & (at <= other_at[-1]) & (other_at[after] - other_at[after - 1] <= _REACH_MM)
    if not near.any():
        return float("nan")
    return 2 * float(np.median(off[near] - np.interp(at[near], other_at, other_off)))


def _finding(book: Book, pair: tuple[str, str], differences: list[float]) -> Finding | None:
    """A doubt when the differences [mm] over bells do not scatter about nought."""
    count = len(differences)
    if count < _FEWEST_BELLS:
        return None
    bias, error = float(np.mean(differences)), float(np.std(differences, ddof=1)) / np.sqrt(count)
    if abs(bias) < max(_LEAST_MM, _SIGMAS * error):
        return None
    first, second = pair if bias > 0 else pair[::-1]
    row = book.gauges.index[book.gauges["gauge_id"] == first][0]
    by, give = (in_thousandths(size, book.units) for size in (abs(bias), error))
    return book.finding(
        "doubt",
        "gauges",
        row,
        "gauge_id",
        subject=first,
        what=f"gauge {first!r} reads {by} (± {give}) above {second!r}, on {count} bells",
        expected=f"a difference below {in_words(_LEAST_MM, book.units)}",
        remedy="check both against a ring of known size",
    )
