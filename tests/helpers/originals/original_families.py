"""Invented families of originals whose common shape is known: each cut short, buffed, read with errors; one dented, one
repaired.

Written apart from `springfit.survey`: lines are integrals of curvature along a fine arc (`facet_lines`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.helpers.originals.facet_lines import FAIR, INCH, FloatArray, Line, Planted, through, with_facets

__all__ = ["Family", "Original", "drawn_family"]

ROUNDING = 4.0  # [mm] width at half height of a corner's rounding
GAUGE = 38.0  # [mm] of the straightedge that a corner's depth is told under
FACET_SLOPES = ((0.06, 0.16), (0.22, 0.55))  # [rad] where the two facets lie: at the throat and in the flare
APART, FROM_END = 50.0, 35.0  # [mm] between facets, and from the rim


@dataclass(frozen=True)
class Original:
    """One bell as it was read: z from its own tail, outside diameter [mm], the wall as stated."""

    z: FloatArray
    outside: FloatArray
    wall: float


@dataclass(frozen=True)
class Family:
    """Five originals, the inside as it was meant, its facets as planted with their depths [mm].

    unseen: how far off the truth, at its arcs, [mm] the mean inside of all lies, dents and reading errors left out: a
    wall read at one place stands for a bell that is buffed unevenly. No average of these bells can tell it from shape.
    """

    truth: Line
    facets: tuple[Planted, ...]
    depths: tuple[float, ...]
    originals: tuple[Original, ...]
    unseen: FloatArray


def drawn_family(
    seed: int,
    *,
    facets: int = 2,
    count: int = 5,
    spacing: float = INCH / 4,
    reading_sd: float = 0.012,
    offset_sd: float = 1.0,
    faults: bool = True,
    fair: str | None = None,
    depth: tuple[float, float] = (0.05, 0.10),
    corners: bool = True,
    lacking: int | None = None,
) -> Family:
    """A family by `seed`: axial offsets `offset_sd`, stations every `spacing`, diameters read `reading_sd` off [mm].

    corners: whether a facet may be a corner, else all are dishes. lacking: the original that was made without them.
    """
    draw = np.random.default_rng([seed, 15])
    line, places = _line_with_room(draw, facets, fair)
    planted, depths = _facets(draw, places, depth, corners)
    z, r = with_facets(line, planted)
    truth = through(z, r)
    dented, repaired = draw.permutation(count)[:2] if faults and count >= 2 else (-1, -1)
    lines = [line if i == lacking else truth for i in range(count)]
    read = [
        _read(one, draw, spacing, reading_sd, offset_sd, dented=i == dented, repaired=i == repaired)
        for i, one in enumerate(lines)
    ]
    unseen = np.mean([np.interp(truth.s, one.s, off) for one, (_, off) in zip(lines, read, strict=True)], axis=0)
    return Family(truth, planted, depths, tuple(original for original, _ in read), unseen)


def _line_with_room(draw: np.random.Generator, facets: int, fair: str | None) -> tuple[Line, list[float]]:
    """A fair line long enough that the facets keep clear of each other and of the rim."""
    while True:
        line = FAIR[fair or ("bessel", "exponential")[draw.integers(2)]](draw)
        slopes = [draw.uniform(*low_high) for low_high in FACET_SLOPES[:facets]]
        at = [float(line.s[np.searchsorted(line.slope, slope)]) for slope in slopes if slope < line.slope[-1]]
        clear = all(FROM_END < place < line.s[-1] - FROM_END for place in at)
        if len(at) == facets and clear and all(np.diff(at) > APART):
            return line, at


def _facets(
    draw: np.random.Generator, places: list[float], depth: tuple[float, float], corners: bool
) -> tuple[tuple[Planted, ...], tuple[float, ...]]:
    planted, depths = [], []
    for place in places:
        deep = draw.uniform(*depth)
        if draw.integers(2) or not corners:
            planted.append(Planted(place, draw.uniform(26.0, 40.0), depth=deep))
        else:  # turn * (gauge / 4 - g / sqrt(2 pi)) of depth, g the sd of its rounding
            g = ROUNDING / np.sqrt(8 * np.log(2))
            planted.append(Planted(place, ROUNDING, turn=deep / (GAUGE / 4 - g / np.sqrt(2 * np.pi))))
        depths.append(deep)
    return tuple(planted), tuple(depths)


def _read(
    truth: Line, draw: np.random.Generator, spacing: float, reading_sd: float, offset_sd: float,
    *, dented: bool, repaired: bool,
) -> tuple[Original, FloatArray]:  # fmt: skip
    """Outside diameters at marked stations; the wall is read near the rim, buffed as it is there.

    And how far off the truth, at its arcs, [mm] the inside comes for that: the wall there was less the one stated.
    """
    s, length = truth.s, truth.s[-1]
    sheet = 0.5 + 0.02 * draw.standard_normal()
    buffed = 0.03 + 0.02 * np.sin(2 * np.pi * (draw.uniform(0.5, 1.5) * s / length + draw.uniform()))
    out = sheet - buffed
    if dented:
        out = out - draw.uniform(0.3, 0.6) * np.exp(
            -0.5 * ((s - draw.uniform(0.35, 0.85) * length) / draw.uniform(5.0, 8.0)) ** 2
        )
    if repaired:
        middle, half = draw.uniform(0.35, 0.85) * length, draw.uniform(15.0, 30.0)
        out = out + draw.uniform(0.1, 0.25) / (1 + (np.abs(s - middle) / half) ** 12)
    z, r = truth.z - out * np.sin(truth.slope), truth.r + out * np.cos(truth.slope)
    offset = offset_sd * draw.standard_normal()
    at = _marked(truth, spacing, 3.0 + draw.uniform(0.0, spacing))
    stations = np.interp(at, s, z)
    diameter = 2 * np.interp(stations, z, r) + reading_sd * draw.standard_normal(at.size)
    wall = float(np.interp(length - 15.0, s, sheet - buffed)) + 0.004 * draw.standard_normal()
    return Original(stations - offset, diameter, wall), sheet - buffed - wall


def _marked(line: Line, spacing: float, first: float) -> FloatArray:
    """Arcs of stations every `spacing` [mm] of z up to 45 degrees, then every half of that of radius."""
    taken = [first]
    while taken[-1] < line.s[-1] - 2.0:
        slope = float(np.interp(taken[-1], line.s, line.slope))
        step = spacing / np.cos(slope) if slope < np.pi / 4 else spacing / 2 / np.sin(slope)
        taken.append(taken[-1] + step)
    return np.array(taken[:-1])
