"""Which mandrels would make a bell: the bells they are forecast to give, laid on it and ranked by what is to be done.

Each forecast bell is slid to where it lies best on the target. What then stands out of it by more than the tolerance
would have to be cut off the steel, what falls short would have to be added, and steel cannot be put back: a mandrel
that needs any added comes after all that need none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.registration import registration
from springfit.geometry.seating import nearest_point
from springfit.learning.basis.spun_sheet import bead_arc
from springfit.normal_errors import BAND_90

__all__ = ["LEAST_REACH", "Ranked", "ranked"]

LEAST_REACH = 0.9  # share of the target that a bell has to cover before it can be compared; assumed
ROUNDS = 8  # of the slide that fits best; a bound


@dataclass(frozen=True)
class Ranked:
    """One mandrel: the slide [mm] of its bell onto the target, and what is left there.

    cut, add [mm]: the most that stands out, and that falls short, past the tolerance; at_cut, at_add [mm]: z on the
    target. rms [mm]; covered: share of the target that the bell reaches. fits: neither cut nor added.
    """

    mandrel_id: str
    slide: float
    cut: float
    add: float
    at_cut: float
    at_add: float
    rms: float
    covered: float

    @property
    def fits(self) -> bool:
        """Whether the bell lies within tolerance everywhere it reaches, and reaches far enough."""
        return self.cut == 0 and self.add == 0 and self.covered >= LEAST_REACH


def ranked(
    target: Meridian,
    bells: Mapping[str, Meridian],
    *,
    tolerance: float,
    known_to: tuple[FloatArray, FloatArray] | None = None,
) -> tuple[Ranked, ...]:
    """All mandrels by their bells' inside lines, best first.

    known_to: arcs and 1 sd [mm] there of the target itself; what it leaves open is no reason to cut. Where a bead is
    rolled is not judged.

    First those that reach and need nothing added, by what is to be cut and then by how well they lie; then those that
    fall short, by how much.
    """
    points = target.resampled(2.0)
    judged = points.s <= bead_arc(points, points.length)
    open_to = np.full(points.s.size, tolerance)
    if known_to is not None:
        open_to = np.hypot(tolerance, BAND_90 * np.interp(points.s, *known_to))
    told = [_laid_on(points, judged, open_to, name, bell) for name, bell in bells.items()]
    return tuple(sorted(told, key=_order))


def _order(one: Ranked) -> tuple[bool, float, float, float]:
    return (one.covered < LEAST_REACH, round(one.add, 3), round(one.cut, 3), one.rms)


def _laid_on(points: Meridian, judged: np.ndarray, open_to: FloatArray, name: str, bell: Meridian) -> Ranked:
    slide = -registration(bell, points.z, points.r, standing_off=np.zeros(points.z.size))
    on, off = np.zeros(points.z.size, bool), np.zeros(points.z.size)
    for _ in range(ROUNDS):
        on, off = _standing_out(bell, points, slide)
        on = on & judged
        sine = np.sin(points.slope)[on]
        if not np.any(on) or not np.sum(sine**2) > 0:
            break
        slide += float(np.sum(off[on] * sine) / np.sum(sine**2))
    covered = float(np.mean(on[judged]))
    if covered < LEAST_REACH / 2:
        return Ranked(name, slide, np.inf, np.inf, np.nan, np.nan, np.inf, covered)
    off, z, open_to = off[on], points.z[on], open_to[on]
    out, short = int(np.argmax(off - open_to)), int(np.argmin(off + open_to))
    return Ranked(
        name, slide, max(float(off[out] - open_to[out]), 0.0), max(-float(off[short] + open_to[short]), 0.0),
        float(z[out]), float(z[short]), float(np.sqrt(np.mean(off**2))), covered,
    )  # fmt: skip


def _standing_out(bell: Meridian, points: Meridian, slide: float) -> tuple[np.ndarray, FloatArray]:
    """Where the bell, slid, reaches the target's points, and how far it stands out of them along the normal."""
    _, distance = nearest_point(bell, points.z - slide, points.r)
    return np.isfinite(distance), -np.nan_to_num(distance)
