"""Whose spread is it: of a zone's gap beyond its forecast, how much comes with the bell, batch, spinner, lot or gauge.

Bells within their batches are pooled over all batches. The batches' shifts against what was forecast of each before it
was learned are then split by restricted maximum likelihood among spinners, lots and gauges; what none of them has in
common is the batches' own, the error of their readings in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2

from springfit.normal_errors import BAND_LEVEL
from springfit.records.book import Book
from springfit.watching.batches.bell_zones import ZONES
from springfit.watching.batches.zone_scores import ZoneScore
from springfit.watching.charts.control_chart import LEAST_EARLIER
from springfit.watching.gauges.variance_components import RESIDUAL, Component, variance_components
from springfit.watching.judged_batches import JudgedBatch

__all__ = ["SOURCES", "ZoneSpread", "spread_sources"]

SOURCES = ("bells", "batches", "spinners", "lots", "gauges")
LEAST_BATCHES = 6  # of a zone: a spread of fewer is known to a factor of two at best
LEAST_LEVELS = 2  # words of a kind: one tells no spread


@dataclass(frozen=True)
class ZoneSpread:
    """One zone over `batches`: standard deviations [mm per side] with 90 % bands by source; sources that the book
    cannot tell apart are left out."""

    zone: str
    batches: int
    sources: tuple[Component, ...]

    def of(self, name: str) -> Component | None:
        """One source."""
        return next((one for one in self.sources if one.name == name), None)


def spread_sources(book: Book, judged: Sequence[JudgedBatch]) -> tuple[ZoneSpread, ...]:
    """The zones that enough batches of `judged` were read in."""
    rows = book.batches.set_index(book.batches["batch_id"].astype(str))
    labels = {
        "spinners": dict(zip(rows.index, rows["spinner"], strict=True)),
        "lots": dict(zip(rows.index, rows["lot"], strict=True)),
        "gauges": _gauge_of(book),
    }
    found = []
    for zone in ZONES:
        pairs = [(one.batch_id, score) for one in judged if one.earlier >= LEAST_EARLIER for score in one.zones
                 if score.zone == zone and np.isfinite(score.shift)]  # fmt: skip
        if len(pairs) >= LEAST_BATCHES:
            bells = _bells([score for _, score in pairs])
            found.append(ZoneSpread(zone, len(pairs), (*bells, *_batches(pairs, labels))))
    return tuple(found)


def _bells(scores: Sequence[ZoneScore]) -> tuple[Component, ...]:
    """Bells about their batch's mean, pooled; the band by chi-square."""
    read = [score for score in scores if np.isfinite(score.spread)]
    freedom = sum(score.bells - 1 for score in read)
    if not freedom:
        return ()
    square = sum(score.spread**2 * (score.bells - 1) for score in read)
    low, high = (float(np.sqrt(square / chi2.ppf(0.5 + side * BAND_LEVEL / 2.0, freedom))) for side in (1.0, -1.0))
    return (Component("bells", float(np.sqrt(square / freedom)), low, high, freedom),)


def _batches(
    pairs: Sequence[tuple[str, ZoneScore]], labels: dict[str, dict[str, object]]
) -> tuple[Component, ...]:
    """Spinners, lots and gauges, and the batches' own. A batch whose label is blank is of a label of its own."""
    groups = {}
    for name, of_batch in labels.items():
        words = [str(of_batch.get(batch) or f"blank, {batch}") for batch, _ in pairs]
        if LEAST_LEVELS <= len(set(words)) < len(pairs) - 1:
            groups[name] = words
    told = variance_components([score.shift for _, score in pairs], groups, level=BAND_LEVEL).components
    return tuple(
        Component("batches" if one.name == RESIDUAL else one.name, one.sd, one.low, one.high, one.levels)
        for one in told
    )


def _gauge_of(book: Book) -> dict[str, object]:
    """The gauge that most readings of each batch were taken with."""
    batch_of = dict(zip(book.bells["bell_id"], book.bells["batch_id"].astype(str), strict=True))
    rows = book.measurements[book.measurements["kind"] != "wall"]
    batches = rows["bell_id"].map(batch_of)
    return {str(batch): gauges.mode().iloc[0] for batch, gauges in rows["gauge_id"].groupby(batches)}
