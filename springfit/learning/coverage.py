"""How far a forecast stands on recorded bells: a word a station, and the conditions never met, named."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.points import Points
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.features.station_features import flare_coordinate
from springfit.learning.regression.layout import BatchFacts

__all__ = [
    "INSIDE", "PHYSICS_ONLY", "STRETCHED", "Coverage", "CoverageNote", "coverage_of_experience", "joined", "trust_of",
]  # fmt: skip

Floats = NDArray[np.float64]

INSIDE, STRETCHED, PHYSICS_ONLY = "inside", "stretched", "physics_only"
FLARE_UNIT = 1.0  # [knots] of the flare coordinate; as fine as the fields follow it
RADIUS_UNIT = 0.25  # of ln radius: a quarter larger or smaller is another bell; assumed
NEAR, FAR = 1.0, 3.0  # units from the nearest recorded station: inside, then stretched, then physics alone; assumed
USUAL_UNIT = 0.5  # spreads of a feature past its recorded range that still count as met; assumed
NAMED = ("alloy",)  # labels that change the mechanics when new; a new lot only widens the band


@dataclass(frozen=True)
class CoverageNote:
    """A fact on what a forecast rests on, and the names it is of.

    `kind`: "unmeasured" (no bell at all), "nearest" (mandrels), "never_met" (a kind of label and the label), "outside"
    (a feature past its recorded range), "draw_end_blank", "not_learned" (batches that the model does not know).
    """

    kind: str
    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Coverage:
    """Recorded experience: `stations` (m, 2) flare coordinate and ln radius of measured steel, `mandrel` index (m,)
    into `mandrels`; lowest and highest recorded `features` (features, 2); `labels` met of each kind."""

    stations: Floats
    mandrel: NDArray[np.intp]
    mandrels: tuple[str, ...]
    features: Floats
    labels: tuple[tuple[str, ...], ...]


def coverage_of_experience(
    points: dict[str, Points], facts: dict[str, BatchFacts], levels: tuple[tuple[str, ...], ...]
) -> Coverage:
    """Coverage of measured steel `points` by mandrel and of the batches' `facts`."""
    mandrels = tuple(points)
    coordinates = [_coordinates(points[name]) for name in mandrels]
    index = [np.full(len(c), i, dtype=np.intp) for i, c in enumerate(coordinates)]
    values = np.array([fact.features for fact in facts.values()]).reshape(-1, len(BATCH_FEATURES))
    known = np.isfinite(values)
    low = np.where(known, values, np.inf).min(axis=0, initial=np.inf)
    high = np.where(known, values, -np.inf).max(axis=0, initial=-np.inf)
    return Coverage(
        np.concatenate(coordinates) if coordinates else np.zeros((0, 2)),
        np.concatenate(index) if index else np.zeros(0, dtype=np.intp),
        mandrels, np.column_stack((low, high)), levels,
    )  # fmt: skip


def joined(old: Coverage, new: Coverage, levels: tuple[tuple[str, ...], ...]) -> Coverage:
    """The coverage of both; of a mandrel in both, that of it which was measured further. `levels`: labels of both."""
    held: dict[str, Floats] = {}
    for coverage in (old, new):
        for index, name in enumerate(coverage.mandrels):
            stations = coverage.stations[coverage.mandrel == index]
            if name not in held or len(stations) > len(held[name]):
                held[name] = stations
    low = np.minimum(old.features[:, 0], new.features[:, 0])
    high = np.maximum(old.features[:, 1], new.features[:, 1])
    counts = [len(stations) for stations in held.values()]
    mandrel = np.repeat(np.arange(len(held), dtype=np.intp), counts)
    stations = np.concatenate(list(held.values())) if held else np.zeros((0, 2))
    return Coverage(stations, mandrel, tuple(held), np.column_stack((low, high)), levels)


def trust_of(coverage: Coverage, points: Points, facts: BatchFacts) -> tuple[tuple[str, ...], tuple[CoverageNote, ...]]:
    """A word for each of `points` and notes: what conditions were never met, which mandrels stand nearest."""
    if not len(coverage.stations):
        return (PHYSICS_ONLY,) * len(points.s), (CoverageNote("unmeasured"),)
    away = _coordinates(points)[:, None, :] - coverage.stations[None, :, :]
    distance = np.sqrt((away**2).sum(axis=2))
    nearest = distance.min(axis=1)
    strange = _never_met(coverage, facts)
    words = np.where(nearest <= NEAR, INSIDE, np.where(nearest <= FAR, STRETCHED, PHYSICS_ONLY))
    if strange:
        words = np.where(words == INSIDE, STRETCHED, words)
    near = np.bincount(coverage.mandrel[distance.argmin(axis=1)], minlength=len(coverage.mandrels))
    names = tuple(coverage.mandrels[i] for i in np.argsort(-near) if near[i] > 0)[:3]
    return tuple(str(word) for word in words), (CoverageNote("nearest", names), *strange)


def _coordinates(points: Points) -> Floats:
    flare = flare_coordinate(points.slope) / FLARE_UNIT
    return np.column_stack((flare, np.log(points.r) / RADIUS_UNIT))


def _never_met(coverage: Coverage, facts: BatchFacts) -> tuple[CoverageNote, ...]:
    """Labels and feature values outside what was recorded."""
    notes = []
    for kind, levels, label in zip(LABELS, coverage.labels, facts.labels, strict=True):
        if kind in NAMED and label is not None and label not in levels:
            notes.append(CoverageNote("never_met", (kind, label)))
    for feature, value, (low, high) in zip(BATCH_FEATURES, facts.features, coverage.features, strict=True):
        room = USUAL_UNIT * feature.spread
        if np.isfinite(value) and not low - room <= value <= high + room:
            notes.append(CoverageNote("outside", (feature.name,)))
    return tuple(notes)
