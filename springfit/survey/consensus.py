"""The common line of specimens that are lined up, and how far they lie about it.

Stations of all specimens, each weighted by trust and by how far it agrees with the others, are averaged over short
stretches of arc; a smooth line through those, no rougher than their error asks, is the consensus. Where specimens are
told apart by more than shops and buffing do, or fewer than half are left, the stretch is masked: said, not mended.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.geometry.points import FloatArray
from springfit.survey.lining_up import OWN_SHAPE, UNEVEN, LinedUp, first_slides, lined_up
from springfit.survey.specimens import Specimen

__all__ = ["Consensus", "consensus_of", "size_and_place_error", "smoothed"]

CELL = 2.5  # [mm] of arc over which stations are taken together: far less than the narrowest facet is felt
LEAST_ERROR = 0.001  # [mm] of either: less than any surface is true
LEAST_WEIGHT = 0.3  # of a station that still counts as agreeing; as `differences.AGREE`


@dataclass(frozen=True)
class Consensus:
    """The common inside line with what it was drawn from.

    specimens: those used; lined: lined up beside `line`, which is the consensus. z, r: (n,) averaged stations [mm];
    error: 1 sd [mm] of each along the normal.
    """

    specimens: tuple[Specimen, ...]
    lined: LinedUp
    line: Meridian
    z: FloatArray
    r: FloatArray
    error: FloatArray


def consensus_of(specimens: Sequence[Specimen]) -> Consensus:
    """The consensus: lined up beside one specimen first, then beside the common line of all.

    Raises ValueError when the stations follow no smooth line.
    """
    slides, _ = first_slides(specimens)
    first = _likest(specimens, slides)
    lined = lined_up(specimens, _own_line(specimens[first], slides[first]), slides)
    z, r, error = _averaged(specimens, lined)
    line = smoothed(z, r, error)
    lined = lined_up(specimens, line, lined.slides)
    z, r, error = _averaged(specimens, lined)
    line = smoothed(z, r, error)
    return Consensus(tuple(specimens), lined_up(specimens, line, lined.slides), line, z, r, error)


def _likest(specimens: Sequence[Specimen], slides: FloatArray) -> int:
    """The specimen that lies nearest to the middle of all: its trust over its median distance from the others."""
    z = np.linspace(
        max(float(one.z[0] + slide) for one, slide in zip(specimens, slides, strict=True)),
        min(float(one.z[-1] + slide) for one, slide in zip(specimens, slides, strict=True)), 60,
    )  # fmt: skip
    radii = np.array(
        [np.interp(z, one.z + slide, one.r) for one, slide in zip(specimens, slides, strict=True)]
    )
    away = np.median(np.abs(radii - np.median(radii, axis=0)), axis=1)
    return int(np.argmin((away + OWN_SHAPE) / [one.trust for one in specimens]))


def _own_line(one: Specimen, slide: float) -> Meridian:
    error = float(np.median(one.error))
    return meridian_from_stations(one.z + slide, 2 * one.r, diameter_error=2 * error)


def _averaged(specimens: Sequence[Specimen], lined: LinedUp) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Stations averaged by cells of arc, put where the average lies on and off the line."""
    arc, off, error = (
        np.concatenate(values) for values in (lined.arc, lined.off, [one.error for one in specimens])
    )
    trust = np.concatenate([np.full(one.z.size, one.trust) for one in specimens])
    weight = np.concatenate(lined.weight)
    use = np.isfinite(arc) & (weight > LEAST_WEIGHT)
    arc, off = arc[use], off[use]
    share = (trust * weight)[use] / (error[use] ** 2 + UNEVEN**2)
    cell = np.unique(np.floor(arc / CELL).astype(int), return_inverse=True)[1]
    total = np.bincount(cell, weights=share)
    s = np.bincount(cell, weights=share * arc) / total
    d = np.bincount(cell, weights=share * off) / total
    points = lined.line.at(s)
    return (
        points.z - d * np.sin(points.slope), points.r + d * np.cos(points.slope), np.sqrt(1.0 / total),
    )  # fmt: skip


def smoothed(z: FloatArray, r: FloatArray, error: FloatArray) -> Meridian:
    """A smooth line through averaged stations."""
    size, place = size_and_place_error(z, r, error)
    return meridian_from_stations(z, 2 * r, diameter_error=2 * size, z_error=place)


def size_and_place_error(z: FloatArray, r: FloatArray, error: FloatArray) -> tuple[float, float]:
    """1 sd [mm] of a radius and of a station that stand for errors (n,) along the normal.

    error^2 = size^2 cos^2(slope) + place^2 sin^2(slope), by least squares over the errors, neither below nothing.
    """
    slope = np.arctan2(np.gradient(r), np.gradient(z))
    rows = np.column_stack((np.cos(slope) ** 2, np.sin(slope) ** 2)) / error[:, None] ** 2
    size, place = np.sqrt(nnls(rows, np.ones_like(error))[0])
    return max(float(size), LEAST_ERROR), max(float(place), LEAST_ERROR)
