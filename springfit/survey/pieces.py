"""What a meridian is made of: straight tapers, arcs that meet at joins, and a free flare, joins with their uncertainty.

Along a taper the slope of the meridian is constant, along an arc it grows evenly: a line of slopes that bends at the
joins. The trend filter says where bends are called for, in what order; of those the least needed is given up again and
again, as multivariate adaptive regression splines are pruned (Friedman 1991), while the line stays as near the
consensus as it is known; then the joins are moved to where they fit best.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from scipy.integrate import cumulative_trapezoid

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.trend_filter import trend_path

__all__ = ["Piece", "pieces_of"]

Kind = Literal["taper", "arc", "free flare"]

STEP = 2.0  # [mm] of arc between the slopes that are looked at: a tenth of the shortest arc worth its name
CLOSE_ENOUGH = 0.015  # [mm] normal, at the worst place: what the consensus is asked to be known to
TOGETHER = 8.0  # [mm] bends nearer than this are one join, rounded over it; assumed
SHORTEST_ARC = 20.0  # [mm] shorter arcs, several in a row, are a flare shaped freely; half a dish; assumed
STRAIGHT = 0.01  # [mm] rise of an arc over its chord under which it is a straight taper; below `CLOSE_ENOUGH`; assumed
WORSE = 1.02  # times what all joins leave, where that is more: without some room none could be spared; assumed
SETTLING = 20  # rounds at most in which joins are moved to where they fit best; a bound on time


@dataclass(frozen=True)
class Piece:
    """One stretch from arc `start` to `end` [mm]: its kind, slope [rad] at the start, curvature [1/mm] (the mean of a
    free flare), and 1 sd [mm] of where it begins; nan at the tail."""

    kind: Kind
    start: float
    end: float
    slope: float
    curvature: float
    start_error: float


def pieces_of(line: Meridian, error: float, spacing: float) -> tuple[Piece, ...]:
    """Pieces from tail to rim; error [mm]: 1 sd of a station of the consensus, spacing [mm] of arc between them."""
    s = np.linspace(0.0, line.length, max(int(line.length / STEP), 8) + 1)
    slope = line.at(s).slope
    joins, before = _called_for(s, slope, line.length), np.inf
    while joins.size < before:  # a join moved to its place may make its neighbour needless
        before = joins.size
        joins = _settled(s, slope, _pruned(s, slope, joins))
    sizes, _ = _fitted(s, slope, joins)
    curvature = np.cumsum(sizes[1:])
    errors = _join_errors(s, slope, joins, sizes[2:], error * np.sqrt(spacing / STEP))
    ends = np.concatenate(([0.0], joins, [line.length]))
    starts = sizes[0] + np.concatenate(([0.0], np.cumsum(curvature * np.diff(ends))))[:-1]
    pieces = [
        Piece(_kind(k, b - a), float(a), float(b), float(phi), float(k), float(e))
        for (a, b), phi, k, e in zip(
            pairwise(ends), starts, curvature, np.append(np.nan, errors), strict=True
        )
    ]
    return tuple(_with_free_flare(pieces))


def _kind(curvature: float, length: float) -> Kind:
    return "taper" if abs(curvature) * length**2 / 8 < STRAIGHT else "arc"


def _called_for(s: FloatArray, slope: FloatArray, length: float) -> FloatArray:
    """Bends in the order of the trend filter until the line is near enough to spare some again.

    None lies within TOGETHER of one called for before, or of an end.
    """
    kept: list[float] = []
    for knots in trend_path(s, slope, most=s.size).knots:
        more = [
            float(place)
            for place in s[list(knots)]
            if TOGETHER < place < length - TOGETHER and all(abs(place - one) >= TOGETHER for one in kept)
        ]
        if more:
            kept += [
                place for i, place in enumerate(more) if all(place - one >= TOGETHER for one in more[:i])
            ]
            if np.max(np.abs(_fitted(s, slope, np.array(sorted(kept)))[1])) < CLOSE_ENOUGH / 2:
                break
    return np.array(sorted(kept))


def _pruned(s: FloatArray, slope: FloatArray, joins: FloatArray) -> FloatArray:
    """The joins without those that can be spared."""
    enough = max(CLOSE_ENOUGH, WORSE * float(np.max(np.abs(_fitted(s, slope, joins)[1]))))
    motion, wanted = _moved(s, slope, _bends(s, joins)), _moved(s, slope, slope)
    kept = list(range(motion.shape[1]))
    while len(kept) > 2:
        basis, triangle = np.linalg.qr(motion[:, kept])
        sizes = np.linalg.solve(triangle, basis.T @ wanted)
        # What the sum of squares grows by without a column: its size squared over its diagonal of (X'X)^-1.
        dear = sizes**2 / np.sum(np.linalg.inv(triangle) ** 2, axis=1)
        fewer = [column for column in kept if column != kept[2 + int(np.argmin(dear[2:]))]]
        left = wanted - motion[:, fewer] @ np.linalg.lstsq(motion[:, fewer], wanted, rcond=None)[0]
        if np.max(np.abs(left)) > enough:
            break
        kept = fewer
    return joins[np.array(kept[2:], dtype=int) - 2]


def _settled(s: FloatArray, slope: FloatArray, joins: FloatArray) -> FloatArray:
    """The joins where they fit best, by steps of Gauss and Newton that keep their order."""
    for _ in range(SETTLING if joins.size else 0):
        sizes, left = _fitted(s, slope, joins)
        columns = _moved(s, slope, np.column_stack((_bends(s, joins), _by_place(s, joins, sizes[2:]))))
        step = np.linalg.lstsq(columns, left, rcond=1e-8)[0][-joins.size :]
        room = np.diff(np.concatenate(([s[0]], joins, [s[-1]]))) / 4
        moved = joins + np.clip(step, -room[:-1], room[1:])
        if np.sum(_fitted(s, slope, moved)[1] ** 2) >= np.sum(left**2):
            break
        joins = moved
    return joins


def _bends(s: FloatArray, joins: FloatArray) -> FloatArray:
    """Slope by unknown: at the start, curvature there, its change at each join."""
    return np.column_stack((np.ones_like(s), s, np.maximum(s[:, None] - joins, 0.0)))


def _by_place(s: FloatArray, joins: FloatArray, change: FloatArray) -> FloatArray:
    """Change of slope when a join is moved by 1 mm."""
    return np.asarray(-change * np.clip((s[:, None] - joins) / STEP + 0.5, 0.0, 1.0))


def _fitted(s: FloatArray, slope: FloatArray, joins: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Sizes of `_bends` that lay the line nearest, and what normal distance (n,) [mm] is left."""
    bends = _bends(s, joins)
    motion, wanted = _moved(s, slope, bends), _moved(s, slope, slope)
    sizes = np.linalg.lstsq(motion, wanted, rcond=None)[0]
    return np.asarray(sizes), np.asarray(wanted - motion @ sizes)


def _moved(s: FloatArray, slope: FloatArray, turned: FloatArray) -> FloatArray:
    """Normal motion [mm] of the line when its slopes are turned by `turned` (n,) or (n, k) [rad], fitted back by a
    shift of its start along the normal: places move by the integral of turned(u) cos(slope(s) - slope(u)) du."""
    cos, sin = np.cos(slope), np.sin(slope)
    many = turned.reshape(s.size, -1)
    along_z = cumulative_trapezoid(many * cos[:, None], s, axis=0, initial=0)
    along_r = cumulative_trapezoid(many * sin[:, None], s, axis=0, initial=0)
    motion = along_z * cos[:, None] + along_r * sin[:, None]
    shift = np.cos(slope - slope[0])[:, None]  # along the tangent the start is where arc lengths begin
    motion = motion - shift @ np.linalg.lstsq(shift, motion, rcond=None)[0]
    return np.asarray(motion.reshape(turned.shape))


def _join_errors(
    s: FloatArray, slope: FloatArray, joins: FloatArray, change: FloatArray, error: float
) -> FloatArray:
    """1 sd [mm] of each join's place, all places and curvatures fitted to points every STEP that are off by `error`."""
    if not joins.size:
        return np.zeros(0)
    columns = _moved(s, slope, np.column_stack((_bends(s, joins), _by_place(s, joins, change))))
    size = np.linalg.norm(columns, axis=0)
    covariance = np.linalg.pinv((columns / size).T @ (columns / size)) * error**2
    return np.asarray((np.sqrt(np.diag(covariance)) / size)[-joins.size :])


def _with_free_flare(pieces: list[Piece]) -> list[Piece]:
    """Runs of two or more short pieces put together as a flare shaped freely."""
    out: list[Piece] = []
    for piece in pieces:
        before = out[-1] if out else None
        if before and _is_short(piece) and (before.kind == "free flare" or _is_short(before)):
            length, new = before.end - before.start, piece.end - piece.start
            mean = (before.curvature * length + piece.curvature * new) / (length + new)
            out[-1] = Piece("free flare", before.start, piece.end, before.slope, mean, before.start_error)
        else:
            out.append(piece)
    return out


def _is_short(piece: Piece) -> bool:
    return piece.end - piece.start < SHORTEST_ARC
