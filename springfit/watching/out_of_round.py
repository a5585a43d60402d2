"""Bells out of round: diameters read at several angles of one place, against how round this shop's bells are.

Two lobes, the usual form of a rim that was dropped, gripped or clamped askew: with angle t from the seam

    D(t) = D_0 + 2 a cos 2t + 2 b sin 2t,

common to the widest places that were read so; a and b per side [mm], as far as the angles read tell them (a pair at 0
and 90 degrees tells a alone). No bell is quite round: one is named where chance among this shop's bells would make so
much of it once in ten thousand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from springfit.normal_errors import BAND_90
from springfit.records.book import Book
from springfit.watching.judged_batches import JudgedBatch
from springfit.watching.signatures.naming import TIMES_READING, Named

__all__ = ["Lobes", "bells_lobes", "with_out_of_round"]

Floats = NDArray[np.float64]

WIDEST = 6  # places of a bell, the widest: a rim goes out of round, a tail hardly can
# 1 sd per side of a sound rim, worth so many bells; common practice, no source. A rim is a free edge, gripped and set
# down on; a diameter read anywhere has a quarter of it, as noise (`kinds_to_gaps.OUT_OF_ROUND_MM`).
ROUND_MM, BEFOREHAND = 0.03, 8.0
CHANCE = 1e-4  # of a sound bell: a book holds some hundreds, and 3.9 sds are what any pattern of one bell must show
TOLD = 1e-6  # of the squares that a lobe's column must keep, the places' own sizes taken off, to be told at all
# Of a pair of angles only the cosine of a bell's lobe shows, so that most are seen smaller than they are: nine in ten
# of a unit normal lie within `BAND_90`, and the rest are where lobes show whole.
PART, WITHIN = 90.0, BAND_90
OUTER = 0.9  # of the arc to the rim: from there the fault is said to be, for the widest places lie there; assumed
SAME_PLACE = ["stage", "kind", "datum", "gauge_id", "z_mm"]


@dataclass(frozen=True)
class Lobes:
    """What the angles tell of one bell: the lobes (m,) [mm per side] of one or both kinds with their covariance."""

    size: Floats
    covariance: Floats


def with_out_of_round(book: Book, judged: Sequence[JudgedBatch]) -> tuple[JudgedBatch, ...]:
    """The batches with the bells that are out of round named."""
    lobes = bells_lobes(book)
    sizes = np.concatenate([one.size for one in lobes.values()]) if lobes else np.zeros(0)
    usual = ROUND_MM
    if sizes.size:
        shown = float(np.percentile(np.abs(sizes), PART)) / WITHIN
        usual = float(np.sqrt((BEFOREHAND * ROUND_MM**2 + sizes.size * shown**2) / (BEFOREHAND + sizes.size)))
    return tuple(_named_in(one, lobes, usual) for one in judged)


def _named_in(one: JudgedBatch, lobes: Mapping[str, Lobes], usual: float) -> JudgedBatch:
    found = []
    for bell in one.bells:
        if bell not in lobes:
            continue
        size, covariance = lobes[bell].size, lobes[bell].covariance
        square = float(size @ np.linalg.solve(usual**2 * np.eye(size.size) + covariance, size))
        largest, sd = float(np.linalg.norm(size)), float(np.sqrt(covariance.trace() / size.size))
        if chi2.sf(square, size.size) < CHANCE and largest > TIMES_READING * sd:
            margin, at = -float(chi2.logsf(square, size.size)), (OUTER * one.rim_arc, one.rim_arc)
            found.append(
                Named("out_of_round", one.batch_id, bell, largest, sd, "mm", at, margin, ("out_of_round",), zone="rim")
            )
    return replace(one, named=(*one.named, *found)) if found else one


def bells_lobes(book: Book) -> dict[str, Lobes]:
    """The lobes of every bell of `book` whose diameters were read at more than one angle."""
    rows = book.measurements
    rows = rows[rows["angle_deg"].notna() & rows["kind"].isin(("outside_diameter", "inside_diameter"))]
    sd = dict(zip(book.gauges["gauge_id"], book.gauges["repeatability_mm"].astype(float), strict=True))
    place = rows.groupby(["bell_id", *SAME_PLACE], dropna=False, sort=False).ngroup().to_numpy().astype(np.intp)
    value, angle = rows["value_mm"].to_numpy(float), np.radians(rows["angle_deg"].to_numpy(float))
    noise = rows["gauge_id"].map(sd).to_numpy(float)
    found = {}
    for bell, mine in rows.groupby("bell_id", sort=False).indices.items():
        told = _lobes(place[mine], value[mine], angle[mine], noise[mine])
        if told is not None:
            found[str(bell)] = told
    return found


def _lobes(place: NDArray[np.intp], value: Floats, angle: Floats, sd: Floats) -> Lobes | None:
    """The lobes of one bell's readings (n,): number of the place, value [mm], angle [rad] and its sd [mm]."""
    place = place - place.min()
    count, total = np.bincount(place), np.bincount(place, weights=value)
    several = np.flatnonzero(count > 1)
    if not several.size:
        return None
    widest = several[np.argsort(total[several] / count[several])[-WIDEST:]]
    kept = np.isin(place, widest)
    place, value, angle, sd = place[kept], value[kept], angle[kept], sd[kept]
    columns = 2.0 * np.column_stack((np.cos(2.0 * angle), np.sin(2.0 * angle)))
    columns, value = (_about_place(part, place) for part in (columns, value[:, None]))
    columns = columns[:, (columns**2).sum(axis=0) > TOLD * len(columns)]
    if not columns.shape[1]:
        return None
    inverse = np.linalg.pinv(columns)
    return Lobes(inverse @ value[:, 0], (inverse * sd**2) @ inverse.T)


def _about_place(values: Floats, place: NDArray[np.intp]) -> Floats:
    """Values (n, m) less the mean of their place."""
    _, which, count = np.unique(place, return_inverse=True, return_counts=True)
    sums = np.zeros((len(count), values.shape[1]))
    np.add.at(sums, which, values)
    return np.asarray(values - (sums / count[:, None])[which])
