"""What the bells of a mandrel support at every place: the error of the next bells on the present steel, bounded.

Batches are counted as batches: the mean over them, with the spread between their means. Two or three means hardly tell
a spread, so it is estimated together with what heats of one alloy are known to differ by, which counts as that many
batches more. Between two stations of a batch its gap runs straight, so that it also speaks where only others were read;
the steel between them is known and added.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.decisions.bells.own_bells import OwnBells
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point
from springfit.learning.regression.structures import STARTING_SPREADS

__all__ = ["BellSupport", "no_support", "support_of"]

HEATS = STARTING_SPREADS["batch_hoop"]  # [-] of the gap, 1 sd from heat to heat
COUNTS_AS = 3.0  # batches that the usual spread counts as beside the means themselves; assumed
# 1 sd of the cut between two revisions, both measured by hand: `STEEL_SD_MM` of 0.0025 each make 0.0035, with as much
# again for their stations, which a hand does not find twice alike (assumed), 0.005
STEEL_MM = 0.005
REACH_MM = 6.35  # of arc past the outermost reading: the quarter inch that shops measure at
# Of arc between two stations: over more than that a flare may do anything unseen; as long as a dish; assumed
APART_MM = 40.0
# A stretch that turns by less is a tube or a taper: what hardly bends hardly springs back; 3 degrees, assumed
STRAIGHT_RAD = 0.05


@dataclass(frozen=True)
class BellSupport:
    """On the stations of the present mandrel, (n,), at `arc` [mm]: `error` of its bells [mm per side, + too large] with
    the standard deviation `sd` of their lasting mean, `shared_sd` of it what no further batch takes away (the bias of a
    gauge, the habit of a hand), and `freedom` of Student's t; `read` where bells speak. `batches` counted, of those
    `measured` on this mandrel in any way of spinning; `apart`: one standard deviation [mm] between their means where
    their gap is largest, NaN of a single one."""

    arc: FloatArray
    error: FloatArray
    sd: FloatArray
    shared_sd: FloatArray
    freedom: FloatArray
    read: NDArray[np.bool_]
    batches: int
    measured: int
    apart: float = float("nan")

    @property
    def speaks(self) -> bool:
        """Whether there are bells to go by at all."""
        return self.batches > 0

    def after(self, more: int) -> BellSupport:
        """The same with `more` batches, read alike, that showed what these did."""
        if not more:
            return self
        own = (self.sd**2 - self.shared_sd**2) * self.batches / (self.batches + more)
        return replace(self, sd=np.sqrt(own + self.shared_sd**2), freedom=self.freedom + more)

    @property
    def set_to_a_line(self) -> BellSupport:
        """The same had their bells been set to a line and their gauges checked: without what all readings share."""
        return replace(self, sd=np.sqrt(self.sd**2 - self.shared_sd**2), shared_sd=np.zeros_like(self.sd))

    def lower(self, quantile: float) -> FloatArray:
        """Error (n,) [mm] that the bells exceed with probability `quantile`; -inf where none was read.

        Peaks are cut off until they are as wide as stations lie apart (opening by a flat piece): a narrower groove is
        what one station alone shows, and nobody could check it.
        """
        error = self.error - student.ppf(quantile, self.freedom) * self.sd
        near = (np.abs(self.arc[:, None] - self.arc) <= 0.5 * REACH_MM) & self.read
        floor = np.min(np.broadcast_to(error, near.shape), axis=1, initial=np.inf, where=near)
        borne_out = np.max(np.broadcast_to(floor, near.shape), axis=1, initial=-np.inf, where=near)
        return np.where(self.read, borne_out, -np.inf)

    def chance_below(self, limit: float) -> FloatArray:
        """Chance (n,) that the lasting error lies below `limit` [mm], by the bells; NaN where none was read."""
        chance = student.cdf((limit - self.error) / np.maximum(self.sd, 1e-9), self.freedom)
        return np.where(self.read, chance, np.nan)

    def half_band(self, level: float) -> FloatArray:
        """Half width (n,) [mm] of the band that holds the lasting error with probability `level`."""
        return np.asarray(student.ppf(0.5 + 0.5 * level, self.freedom) * self.sd)


def no_support(stations: int, *, measured: int = 0) -> BellSupport:
    """Nothing known from bells at `stations` stations, though `measured` batches were read of another way to spin."""
    nothing = np.zeros(stations)
    return BellSupport(nothing, nothing, nothing, nothing, nothing + 1.0, np.zeros(stations, dtype=bool), 0, measured)


def support_of(bells: OwnBells, mandrel: Meridian, target: Meridian, *, revision: int) -> BellSupport:
    """What the used batches of `bells` support on `mandrel`, the steel of `revision`."""
    used = bells.used
    if not used:
        return no_support(mandrel.s.size, measured=len(bells.batches))
    gap, own, shared = (np.full((len(used), bells.arc.size), np.nan) for _ in range(3))
    for row, batch in enumerate(used):
        at, steel = batch.profile.at, STEEL_MM * (batch.revision != revision)
        gap[row, at] = batch.profile.gap
        own[row, at] = np.hypot(batch.profile.own_sd, steel)
        shared[row, at] = batch.profile.shared_sd
    known = np.flatnonzero(np.isfinite(gap).any(axis=0))
    arc, s = bells.arc[known], mandrel.s
    gap, own, shared = (_carried_between(mandrel, arc, values[:, known]) for values in (gap, own, shared))
    mean, alone, together, freedom = _over_batches(gap, own, shared)
    _, steel_error = nearest_point(target, mandrel.z, mandrel.r)
    read = _read(mandrel, arc) & np.isfinite(steel_error)
    error = np.interp(s, arc, mean) + np.nan_to_num(steel_error)
    common = np.interp(s, arc, together)
    spread = np.maximum(np.hypot(np.interp(s, arc, alone), common), 1e-6)
    return BellSupport(
        s, error, spread, common, np.interp(s, arc, freedom), read, len(used), len(bells.batches), _apart(gap)
    )


def _apart(gap: FloatArray) -> float:
    """Standard deviation between batches of `gap` (batches, k) [mm], at the place where all that were read most often
    have the largest gap."""
    seen = np.isfinite(gap).sum(axis=0)
    if seen.max() < 2:
        return float("nan")
    most = gap[:, seen == seen.max()]
    return float(np.nanstd(most[:, int(np.argmax(np.abs(np.nanmean(most, axis=0))))], ddof=1))


def _over_batches(
    gap: FloatArray, own: FloatArray, shared: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Mean over the batches, the standard deviations of it that batches take away and that they share, and degrees of
    freedom, (k,); the arguments (batches, k) [mm]."""
    seen = np.isfinite(gap)
    own, shared = np.where(seen, own, 0.0), np.where(seen, shared, 0.0)
    usual = HEATS * np.abs(np.nanmean(gap, axis=0))
    worth = np.where(seen, 1.0 / (usual**2 + own**2), 0.0)
    weight = worth / worth.sum(axis=0)
    mean = np.sum(weight * np.where(seen, gap, 0.0), axis=0)
    freedom = COUNTS_AS + seen.sum(axis=0) - 1.0
    # In units of what each batch is known to: an ill-read batch that lies apart says little of the others' spread
    apart = np.sum(worth * np.where(seen, (np.nan_to_num(gap) - mean) ** 2, 0.0), axis=0)
    variance = (COUNTS_AS + apart) / freedom / worth.sum(axis=0)
    least = np.sum((weight * own) ** 2, axis=0)
    return mean, np.sqrt(np.maximum(variance, least)), np.sum(weight * shared, axis=0), freedom


def _carried_between(mandrel: Meridian, arc: FloatArray, values: FloatArray) -> FloatArray:
    """`values` (batches, k) at the stations `arc` (k,), those a batch lacks between two of its own put straight between
    them: a station that few batches read would else jump from what all say beside it to what those few say."""
    carried = values.copy()
    for row in carried:
        own = np.isfinite(row)
        lacking = ~own & _between(mandrel, arc[own], arc)
        row[lacking] = np.interp(arc[lacking], arc[own], row[own])
    return carried


def _between(mandrel: Meridian, arc: FloatArray, places: FloatArray) -> NDArray[np.bool_]:
    """Which `places` (n,) [mm of arc] lie between two readings, at `arc` (k,), near one another or on one straight
    stretch of the mandrel."""
    below, above = _neighbours(arc, places)
    turns = np.abs(np.diff(np.interp(arc, mandrel.s, mandrel.slope), append=np.inf))[below]
    held = (arc[above] - arc[below] <= APART_MM) | (turns <= STRAIGHT_RAD)
    return np.asarray((arc[below] < places) & (places <= arc[above]) & held)


def _read(mandrel: Meridian, arc: FloatArray) -> NDArray[np.bool_]:
    """Where on the stations of the mandrel readings at `arc` speak: near one, or between two that hold what lies
    between them."""
    below, above = _neighbours(arc, mandrel.s)
    near = np.minimum(np.abs(mandrel.s - arc[below]), np.abs(arc[above] - mandrel.s)) <= REACH_MM
    return np.asarray(near | _between(mandrel, arc, mandrel.s))


def _neighbours(arc: FloatArray, places: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Numbers of the readings at `arc` (k,) before and after each of `places` (n,)."""
    after = np.searchsorted(arc, places)
    return np.maximum(after - 1, 0), np.minimum(after, arc.size - 1)
