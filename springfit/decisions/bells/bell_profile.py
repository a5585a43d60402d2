"""One bell, or all of one batch, as a gap at stations: the seat, the wall and the gauge taken out as unknowns.

Readings of one setting-up share a seat, those through the wall share the wall, all of a gauge share its bias. With the
gap at the stations left wholly free these are generalised least squares,

    y = X g - a sin(phi) + w + b + e,    g = (X' V^-1 X)^-1 X' V^-1 y,

bell by bell, so the cost is linear in bells. No forecast enters but where the line a bell was read from had itself
moved. What all bells of a mandrel share (gauge, how far that line moved, how hard a hand pushes) does not average out
over batches and is kept apart.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.points import FloatArray
from springfit.learning.data.observations import BellReadings, Session
from springfit.learning.regression.structures import STARTING_SPREADS

__all__ = ["Datums", "Profile", "profile_of", "station_index"]

STATION_MM = 4.0  # of arc: readings nearer than this are of one station; a rule is set to a quarter inch at best
# Seat of a bell measured with no axial reference: nothing is known of it; ten hand seats, as good as no prior; assumed.
# Less than the learner's 100 mm (`prior_sd.FREE_SEAT_MM`): here it stands in a covariance, which is solved with the
# errors of single readings beside it.
UNTIED_MM = 5.0
RAGGED_MM = 0.25  # half a wall: on which edge of the rim face a rule stands
LEAST_MOVE_MM = 0.05  # 1 sd of how far a datum line moved, beside half of what is forecast of it; assumed
WALL_SD_MM = STARTING_SPREADS["wall"]
BELLS_SHARE = STARTING_SPREADS["bell_hoop"]  # bells of one batch differ by this share of their gap
HANDS_MM = STARTING_SPREADS["bell_remainder"]
HAND_MM = 0.5 * STARTING_SPREADS["seat_tail"]  # of a hand's seat, the part that is the same every time; assumed


@dataclass(frozen=True)
class Datums:
    """What readings hang on. gauge_sd: 1 sd of each gauge's bias as a gap [mm]; felt: gauges that are leaves, whose
    bells were pushed back by hand; axial_at: motion [mm, + toward the rim] of a place of the bell, by arc [mm]."""

    gauge_sd: Mapping[str, float]
    felt: frozenset[str]
    axial_at: Callable[[float], float]

    def seat_sd(self, session: Session) -> float:
        """1 sd [mm] of where along the axis a bell stood, setting-up by setting-up."""
        if session.datum == "free":
            return STARTING_SPREADS["seat_tail"] if session.gauge_id in self.felt else UNTIED_MM
        ragged = RAGGED_MM if session.datum == "rim" else 0.0
        return float(np.hypot(STARTING_SPREADS[f"seat_{session.datum}"], ragged))

    def is_by_hand(self, session: Session) -> bool:
        """Whether a hand pushed the bell back."""
        return session.datum == "tail" or session.gauge_id in self.felt


@dataclass(frozen=True)
class Profile:
    """Gap (k,) [mm] at the stations numbered `at` (k,), with the standard deviation of what is the batch's own and of
    what all bells of the mandrel share."""

    at: NDArray[np.intp]
    gap: FloatArray
    own_sd: FloatArray
    shared_sd: FloatArray


def station_index(arcs: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Stations (k,) [mm of arc, tail to rim] of readings at `arcs` (n,), and each reading's station (n,)."""
    order = np.argsort(arcs, kind="stable")
    number, start = np.zeros(arcs.size, dtype=np.intp), -np.inf
    count = -1
    for place in order:
        if arcs[place] - start > STATION_MM:
            count, start = count + 1, float(arcs[place])
        number[place] = count
    sums = np.bincount(number, weights=arcs, minlength=count + 1)
    return sums / np.maximum(np.bincount(number, minlength=count + 1), 1), number


def profile_of(bells: Sequence[tuple[BellReadings, NDArray[np.intp]]], datums: Datums) -> Profile | None:
    """The mean profile of `bells`, each with the station of every row; None when none was read."""
    read = [numbers[bell.springs > 0] for bell, numbers in bells]
    at = np.unique(np.concatenate(read)) if read else np.zeros(0, dtype=np.intp)
    if not at.size:
        return None
    usual = _usual_gap(bells, at)
    information, moment = np.zeros((at.size, at.size)), np.zeros(at.size)
    own, kinds = np.zeros((at.size, at.size)), tuple(sorted(datums.gauge_sd))
    shared = np.zeros((at.size, len(kinds) + 2))
    for bell, numbers in bells:
        if not np.any(bell.springs > 0):
            continue
        rows = _Rows.of(bell, np.searchsorted(at, numbers), datums, kinds)
        expected = usual[rows.station]
        mine = rows.own_covariance(datums) + np.outer(expected, expected) * BELLS_SHARE**2
        weighing = np.linalg.solve(mine + rows.shared @ rows.shared.T, np.eye(rows.gap.size))
        place = np.eye(at.size)[rows.station]
        gain = place.T @ weighing
        information += gain @ place
        moment += gain @ rows.gap
        own += gain @ mine @ gain.T
        shared += gain @ rows.shared
    inverse = np.linalg.inv(information)
    return Profile(
        at, inverse @ moment, np.sqrt(np.diag(inverse @ own @ inverse)), np.linalg.norm(inverse @ shared, axis=1)
    )


def _usual_gap(bells: Sequence[tuple[BellReadings, NDArray[np.intp]]], at: NDArray[np.intp]) -> FloatArray:
    """Plain mean gap [mm] at every station: good enough to say by how much bells differ."""
    gap = np.concatenate([bell.gap[bell.springs > 0] for bell, _ in bells])
    number = np.searchsorted(at, np.concatenate([numbers[bell.springs > 0] for bell, numbers in bells]))
    return np.bincount(number, weights=gap, minlength=at.size) / np.bincount(number, minlength=at.size)


@dataclass(frozen=True)
class _Rows:
    """A bell's readings, a row a setting-up and station: what each shares with others stands in `shared`."""

    station: NDArray[np.intp]
    gap: FloatArray
    variance: FloatArray
    sine: FloatArray
    through: FloatArray
    session: NDArray[np.intp]
    sessions: tuple[Session, ...]
    shared: FloatArray

    @classmethod
    def of(cls, bell: BellReadings, station: NDArray[np.intp], datums: Datums, kinds: tuple[str, ...]) -> _Rows:
        """The rows of one bell; readings of one setting-up at one station are averaged."""
        placed = bell.springs > 0
        key = bell.session[placed] * (int(station.max()) + 1) + station[placed]
        _, first, which = np.unique(key, return_index=True, return_inverse=True)
        count = np.bincount(which)

        def mean(values: FloatArray) -> FloatArray:
            return np.bincount(which, weights=values[placed]) / count

        session, sine = bell.session[placed][first], mean(np.sin(bell.slope))
        gap, shared = mean(bell.gap), np.zeros((count.size, len(kinds) + 2))
        for number, one in enumerate(bell.sessions):
            rows = session == number
            if one.gauge_id in kinds:
                shared[rows, kinds.index(one.gauge_id)] = datums.gauge_sd[one.gauge_id]
            if np.isfinite(one.anchor_arc):
                # z was set from a place of the bell that had itself moved: all of it is read as slid back by that
                moved = datums.axial_at(one.anchor_arc)
                gap[rows] -= moved * sine[rows]
                shared[rows, -2] = sine[rows] * float(np.hypot(LEAST_MOVE_MM, 0.5 * moved))
            if datums.is_by_hand(one):
                shared[rows, -1] = sine[rows] * HAND_MM
        return cls(
            station[placed][first], gap, mean(bell.variance), sine, mean(bell.through_wall), session,
            bell.sessions, shared,
        )  # fmt: skip

    def own_covariance(self, datums: Datums) -> FloatArray:
        """Covariance (n, n) [mm^2] of what is this bell's alone: readings, hands, seats, wall."""
        seats = np.array([datums.seat_sd(one) for one in self.sessions])[self.session] * self.sine
        same = self.session[:, None] == self.session[None, :]
        wall = WALL_SD_MM * self.through
        covariance = np.diag(self.variance + HANDS_MM**2) + np.outer(seats, seats) * same + np.outer(wall, wall)
        return np.asarray(covariance)
