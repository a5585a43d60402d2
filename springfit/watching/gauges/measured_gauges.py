"""What a shop's own readings say of its gauges: repeats, how the fit finds them, one gauge against another.

Makers do not know their caliper's standard deviation and must write one down; readings taken twice at one place tell
it, and where none were, how far readings lie from the curves of their bells bounds it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2, norm

from springfit.learning.data.gauge_zero import per_side
from springfit.learning.model import SpringModel
from springfit.normal_errors import BAND_LEVEL
from springfit.records.book import Book
from springfit.watching.judged_batches import JudgedBatch

__all__ = ["MeasuredGauge", "SmallestChange", "measured_gauges", "smallest_changes"]

SAME_PLACE = ("bell_id", "stage", "kind", "datum", "z_mm", "angle_deg", "gauge_id")
LEAST_REPEATS = 5  # degrees of freedom for a repeatability of its own: its band is then a factor of two wide
FALSE_ALARM, MISSED = 0.05, 0.10  # of a change that is called smallest; one in twenty and one in ten, as is usual


@dataclass(frozen=True)
class MeasuredGauge:
    """One gauge [mm]: `stated` repeatability; from `repeats` (degrees of freedom) its own `repeatability` with a 90 %
    band (nan without repeats); `scale` by which its readings lie further from their bells' curves than stated; `bias`
    as a gap against the other gauges with its sd; and the `suggested` repeatability for its row, with `by` repeats,
    fit or stated; `zero`: how far its setting may be off, as a gap; `what` it is and its `ball_radius` as the row has
    them.
    """

    gauge_id: str
    what: str
    ball_radius: float
    stated: float
    station: float
    readings: int
    repeats: int
    repeatability: float
    low: float
    high: float
    scale: float
    bias: float
    bias_sd: float
    suggested: float
    by: str
    zero: float


@dataclass(frozen=True)
class SmallestChange:
    """The smallest change [mm per side] of a batch's mean in one `zone` that its readings show nine times in ten,
    beside what batches differ by anyway (`between`, 1 sd)."""

    zone: str
    change: float
    between: float


def measured_gauges(book: Book, model: SpringModel) -> tuple[MeasuredGauge, ...]:
    """Every gauge of `book` that was read with, in the order of its table."""
    lead, layout = model.lead, model.layout
    place = layout.slices["gauges"]
    bias = dict(zip(layout.columns.gauges, lead.mean[place], strict=True))
    spread = dict(zip(layout.columns.gauges, np.sqrt(np.diag(lead.covariance)[place]), strict=True))
    rows = book.measurements.assign(angle_deg=book.measurements["angle_deg"].fillna(-1.0))
    found = []
    columns = (book.gauges[name] for name in ("gauge_id", "what", "repeatability_mm", "station_mm", "ball_radius_mm"))
    for gauge, what, repeatability, station, ball in zip(*columns, strict=True):
        name, mine = str(gauge), rows[rows["gauge_id"] == gauge]
        if not len(mine):
            continue
        freedom, own, low, high = _repeatability(mine)
        scale, stated = float(model.noise_scale.get(name, 1.0)), float(repeatability)
        by = "repeats" if freedom >= LEAST_REPEATS else "fit" if name in model.noise_scale else "stated"
        suggested = {"repeats": own, "fit": stated * scale, "stated": stated}[by]
        found.append(
            MeasuredGauge(
                name, what if isinstance(what, str) else "", float(ball), stated, float(station),
                len(mine), freedom, own, low, high, scale,
                float(bias.get(name, np.nan)), float(spread.get(name, np.nan)), suggested, by,
                per_side(mine["kind"]) * suggested,
            )
        )  # fmt: skip
    return tuple(found)


def _repeatability(rows: object) -> tuple[int, float, float, float]:
    """Degrees of freedom, pooled standard deviation [mm] and its band, of readings taken again at the same place."""
    groups = rows.groupby(list(SAME_PLACE), dropna=False)["value_mm"]  # type: ignore[attr-defined]
    counts, squares = groups.size(), groups.var(ddof=1)
    more = counts - 1
    freedom = int(more.sum())
    if not freedom:
        return 0, float("nan"), float("nan"), float("nan")
    square = float((squares.fillna(0.0) * more).sum())
    tail = (1.0 - BAND_LEVEL) / 2.0
    low, high = (float(np.sqrt(square / chi2.ppf(part, freedom))) for part in (1.0 - tail, tail))
    return freedom, float(np.sqrt(square / freedom)), low, high


def smallest_changes(judged: Sequence[JudgedBatch], gauges: Sequence[MeasuredGauge]) -> tuple[SmallestChange, ...]:
    """By zone, the median batch's smallest change that measuring shows: what its bells' readings leave, and the zero
    that the gauge most used was set to."""
    zero = max(gauges, key=lambda one: one.readings).zero if gauges else 0.0
    reach = float(norm.ppf(1.0 - FALSE_ALARM / 2.0) + norm.ppf(1.0 - MISSED))
    by_zone: dict[str, list[tuple[float, float]]] = {}
    for one in judged:
        for zone in one.zones:
            if np.isfinite(zone.usual_spread):
                by_zone.setdefault(zone.zone, []).append(
                    (float(np.hypot(zone.usual_spread / np.sqrt(zone.bells), zero)), zone.shift_sd)
                )
    return tuple(
        SmallestChange(zone, reach * float(np.median([sd for sd, _ in pairs])), float(np.median([b for _, b in pairs])))
        for zone, pairs in by_zone.items()
    )
