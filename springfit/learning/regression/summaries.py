"""Per-bell sufficient statistics: once a bell is summed into its Gram matrix, its readings are never needed again.

Every reading is linear in few columns (`Columns`): the basis fields of the locked-in state, a smooth remainder the
shell does not explain, the offset of the rim face, where hands leave a bell on the mean, a bias a gauge, the bell's
true wall, and one seat a session. A bell's weighted Gram matrix of those is all the model ever sees, so its cost is
linear in bells and a new batch is an addition.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.data.observations import Bell, BellReadings, Session
from springfit.learning.features.station_features import FLARE_KNOTS_DEG, flare_coordinate

__all__ = [
    "DATUMS",
    "REMAINDERS",
    "Columns",
    "Summaries",
    "remainder_columns",
    "summarise",
    "thinning_columns",
]

Floats = NDArray[np.float64]

# How the wall may thin along the bell: drawn zone, and three places of the spun one; thinning is half-way up (Sugar et
# al. 2016), so a few places show it; assumed
THINNINGS = 4
THIN_AT = (0.1, 0.55, 1.0)  # those three, of the flare's coordinate: slopes of 2, 33 and 90 degrees; assumed
# Smooth functions along the bell for what the shell leaves unexplained; one each inch of a 300 mm bell; assumed
REMAINDERS = 12
# Sessions of one bell (stage, datum and gauge) that are learned from: the first ones; two each of all three; a bound on
# what a bell costs
SEATS = 8
DATUMS = ("tail", "witness", "rim", "free")  # those of the record book, in the order that stored models number them


@dataclass(frozen=True)
class Columns:
    """Where each unknown stands in a bell's Gram matrix: fields, remainder, thinning, rim, home, gauges | wall, seats.

    `home` is where hands leave a bell on the mean: they stop short of where it came from, or push it past, by habit,
    and however many bells they seat the mean of their seats is not zero. So it stays as unsure as one habit is.
    """

    gauges: tuple[str, ...]
    gauge_spread: tuple[float, ...]
    """1 sd [mm] of a gauge's bias as a gap."""

    def joined(self, other: Columns) -> Columns:
        """These gauges, then those that only `other` has."""
        new = [place for place, gauge in enumerate(other.gauges) if gauge not in self.gauges]
        return Columns(
            (*self.gauges, *(other.gauges[place] for place in new)),
            (*self.gauge_spread, *(other.gauge_spread[place] for place in new)),
        )

    @property
    def shared(self) -> int:
        """Count of columns that bells have in common (all but wall and seats)."""
        return len(FIELDS) + REMAINDERS + THINNINGS + 2 + len(self.gauges)

    @property
    def all(self) -> int:
        """Count of all columns."""
        return self.shared + 1 + SEATS


@dataclass(frozen=True)
class Summaries:
    """Gram matrices of all bells: `gram` (bells, all, all), `moment` (bells, all), `square` (bells,), `rows` (bells,).

    `datum` (bells, SEATS): index into DATUMS of each session's datum, -1 where there is none.
    """

    columns: Columns
    bell_ids: tuple[str, ...]
    batch_ids: tuple[str, ...]
    gram: Floats
    moment: Floats
    square: Floats
    rows: Floats
    datum: NDArray[np.intp]

    @staticmethod
    def datums_of(bell: BellReadings) -> NDArray[np.intp]:
        """Row (1, SEATS) of `datum` for one bell."""
        return np.array([_datums(bell.sessions)], dtype=np.intp)

    def only(self, keep: NDArray[np.bool_]) -> Summaries:
        """The bells where `keep` (bells,) is true."""
        chosen = np.flatnonzero(keep)
        return Summaries(
            self.columns, tuple(self.bell_ids[i] for i in chosen), tuple(self.batch_ids[i] for i in chosen),
            self.gram[keep], self.moment[keep], self.square[keep], self.rows[keep], self.datum[keep],
        )  # fmt: skip


def remainder_columns(arc: Floats, slope: Floats, length: float) -> Floats:
    """Smooth functions along the bell, (n, REMAINDERS), summing to one: quadratic splines in a coordinate that runs
    half with the arc and half with the flare, so that a throat and a rim are resolved alike."""
    last = len(FLARE_KNOTS_DEG) - 1.0
    along = 0.5 * np.clip(arc / length, 0.0, 1.0) + 0.5 * flare_coordinate(slope) / last
    degree = 2
    knots = np.r_[[0.0] * degree, np.linspace(0.0, 1.0, REMAINDERS - degree + 1), [1.0] * degree]
    return BSpline(knots, np.eye(REMAINDERS), degree)(np.clip(along, 0.0, 1.0))


def thinning_columns(slope: Floats, spun: Floats) -> Floats:
    """How the wall may differ from the sheet, (n, THINNINGS) as shares of the wall: 1 over the drawn zone, and over the
    spun one straight lines between the throat, the middle of the flare and the rim."""
    along = flare_coordinate(slope) / (len(FLARE_KNOTS_DEG) - 1.0)
    hats = np.stack([np.interp(along, THIN_AT, row) for row in np.eye(3)], axis=1)
    return np.column_stack((1.0 - spun, spun[:, None] * hats))


def summarise(
    bells: Sequence[Bell], columns: Columns, *, noise_scale: Mapping[str, float] | None = None
) -> Summaries:
    """Summaries of `bells`; `noise_scale` is a factor on the stated errors of a gauge (default 1)."""
    scale, count = noise_scale or {}, len(bells)
    gram, moment = np.empty((count, columns.all, columns.all)), np.empty((count, columns.all))
    square = np.empty(count)
    for index, bell in enumerate(bells):
        of_gauge = np.array([scale.get(session.gauge_id, 1.0) for session in bell.sessions])
        weight = 1.0 / (bell.variance * of_gauge[bell.session] ** 2)
        weighted = bell.design * weight[:, None]
        gram[index], moment[index] = weighted.T @ bell.design, weighted.T @ bell.gap
        square[index] = weight @ bell.gap**2
    return Summaries(
        columns, tuple(bell.bell_id for bell in bells), tuple(bell.batch_id for bell in bells), gram, moment, square,
        np.array([float(len(bell.gap)) for bell in bells]),
        np.array([_datums(bell.sessions) for bell in bells], dtype=np.intp).reshape(-1, SEATS),
    )  # fmt: skip


def _datums(sessions: tuple[Session, ...]) -> list[int]:
    found = [DATUMS.index(session.datum) for session in sessions[:SEATS]]
    return found + [-1] * (SEATS - len(found))
