"""What springback cannot do: swellings and dents that beat springback by a fixed margin of evidence.

A bell is explained by its batch's springback and its own seat, wall and hands; then once more with one swelling of
the size passes toward the tail leave, tried at every place where the bell is not yet steep. Where the second
explanation is better by `MARGIN` and the swelling is larger than elastic release could make it, that stretch is a
process fault: its rows are taken out of the regression and listed. Where all of that rests on one reading, the reading
alone is taken out: a slip would look the same, and no one is told of a swelling. A bell that no explanation fits is
left out whole. Read as springback, any of them would be cut into steel.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from springfit.learning.data.observations import BellReadings

__all__ = ["Explained", "LocalFault", "faults_of", "stands_off", "without"]

Floats = NDArray[np.float64]
Readings = TypeVar("Readings", bound=BellReadings)

# 1 sd of the shape of a swelling: a throat swells over two inches, or four; common practice, no source
WIDTHS_MM = (12.0, 18.0, 26.0)
SIZE_SD_MM = 0.5  # prior of its height, either way; as large as 40 thou on diameter; assumed
MARGIN = 8.0  # log evidence by which the fault must win: about 3000 to 1; a book holds hundreds of bells
STEEP = np.radians(30.0)  # where the bell is steeper, the elastic envelope is wider than any fault; assumed
STEP_MM = 6.0  # between the places tried; half the narrowest of them
REACH = 2.8  # widths each way that are taken out; 2 % of its height is left there
SEATS_TRIED = np.linspace(-3.0, 3.0, 241)  # [mm]; past any seat of a hand (0.1 to 0.8 mm), a thou apart
SLIP_SD = 4.0  # standard deviations of one reading; normal ones are past it once in 16 000
MOST_OF_THE_BELL = 0.5  # of its readings outside the envelope wherever it sits: then no bell of this steel; assumed
MOST_FAULTS = 2  # a bell; with more it is no bell of this batch
# Mean square of standardised residuals at which a bell is left out whole; twice as far off as is said of them; assumed
MISFIT = 4.0


@dataclass(frozen=True)
class LocalFault:
    """A stretch of one bell that springback cannot make. arc_from, arc_to [mm]; size [mm] normal, + outward; `margin`
    log evidence over springback alone. `whole`: no explanation fits the bell, size is then its rms misfit. `alone`: one
    reading and no more, size is then how far it is off."""

    bell_id: str
    batch_id: str
    arc_from: float
    arc_to: float
    size: float
    margin: float
    whole: bool = False
    alone: bool = False

    @property
    def swelling(self) -> bool:
        """Whether it is a process fault: something that spinning left, and no slip nor stranger."""
        return not self.whole and not self.alone


@dataclass(frozen=True)
class Explained:
    """What springback says of a bell's rows: `expected` gap (n,) [mm], and `freedom` (n, unknowns) with `variance`
    (unknowns,): how the bell's and its batch's own unknowns may move it. `envelope` (n,) [mm]: elastic envelope."""

    expected: Floats
    freedom: Floats
    variance: Floats
    envelope: Floats


def faults_of(bell: BellReadings, explained: Explained) -> tuple[LocalFault, ...]:
    """Faults of one bell, those with most evidence first; empty when springback will do."""
    plain = np.diag(bell.variance) + (explained.freedom * explained.variance) @ explained.freedom.T
    noise = plain
    rest = bell.gap - explained.expected
    places = _places(bell)
    found: list[LocalFault] = []
    for _ in range(MOST_FAULTS):
        if not len(places):
            break
        tried = [_best(bell, noise, rest, places, explained.envelope, width) for width in WIDTHS_MM]
        faults = [fault for fault in tried if fault is not None]
        if not faults:
            break
        fault = max(faults, key=lambda one: one.margin)
        found.append(fault)
        # Its own flanks, where it is not quite of the shape tried, would else be named as opposite faults beside it.
        places = places[(places < fault.arc_from) | (places > fault.arc_to)]
        shape = _shape_of(fault, bell)
        noise = noise + SIZE_SD_MM**2 * shape @ shape.T
    misfit = _misfit(rest, plain, _outside(bell.arc, found))
    if misfit > MISFIT:
        size = float(np.sqrt(np.mean(rest**2)))
        return (
            LocalFault(
                bell.bell_id, bell.batch_id, float(bell.arc[0]), float(bell.arc[-1]), size, misfit, True
            ),
        )
    return tuple(found)


def stands_off(bell: BellReadings, envelope: Floats) -> bool:
    """Whether most of the bell lies beyond the elastic `envelope` (n,) [mm] of the steel at every seat it may have had:
    then it is no bell of this steel, whatever the batch."""
    beyond = 0
    for index in range(len(bell.sessions)):
        rows = (bell.session == index) & (bell.springs > 0)
        if rows.any():
            room = envelope[rows] + SLIP_SD * np.sqrt(bell.variance[rows])
            off = np.abs(bell.gap[rows] + SEATS_TRIED[:, None] * np.sin(bell.slope[rows])) > room
            beyond += int(off.sum(axis=1).min())
    return beyond > MOST_OF_THE_BELL * len(bell.gap)


def without(bell: Readings, faults: tuple[LocalFault, ...]) -> Readings | None:
    """The bell without the faulty stretches; None when nothing sound is left."""
    if any(fault.whole for fault in faults):
        return None
    keep = _outside(bell.arc, faults)
    if not keep.any():
        return None
    return bell if keep.all() else bell.rows_where(keep)


def _outside(arc: Floats, faults: Iterable[LocalFault]) -> NDArray[np.bool_]:
    """Rows (n,) that lie in none of the faults."""
    keep = np.ones(len(arc), dtype=bool)
    for fault in faults:
        keep &= (arc < fault.arc_from) | (arc > fault.arc_to)
    return keep


def _misfit(rest: Floats, noise: Floats, keep: NDArray[np.bool_]) -> float:
    """Mean square of the standardised residuals of the rows that are kept; 0 where none is."""
    kept = rest[keep]
    return float(kept @ np.linalg.solve(noise[np.ix_(keep, keep)], kept)) / max(len(kept), 1)


def _places(bell: BellReadings) -> Floats:
    gentle = bell.arc[(bell.slope < STEEP) & (bell.springs > 0)]
    return np.arange(gentle.min(), gentle.max() + STEP_MM, STEP_MM) if len(gentle) > 3 else np.zeros(0)


def _shape(arc: Floats, places: Floats, width: float) -> Floats:
    """Swellings of height one and `width` [mm] at `places`, (n, places)."""
    return np.exp(-0.5 * ((arc[:, None] - places[None, :]) / width) ** 2)


def _shape_of(fault: LocalFault, bell: BellReadings) -> Floats:
    """How a fault moves the rows of its bell, (n, 1), for one of height one."""
    if fault.alone:
        return (bell.arc == fault.arc_from).astype(float)[:, None]
    middle, half = (fault.arc_from + fault.arc_to) / 2, (fault.arc_to - fault.arc_from) / 2
    return _shape(bell.arc, np.array([middle]), half / REACH) * bell.springs[:, None]


def _best(
    bell: BellReadings, noise: Floats, rest: Floats, places: Floats, envelope: Floats, width: float
) -> LocalFault | None:
    """The swelling of one width that explains most, when it wins by the margin and passes the elastic envelope."""
    shapes = _shape(bell.arc, places, width) * bell.springs[:, None]
    height, margin = _borne_out(shapes, noise, rest)
    best = int(np.argmax(margin))
    limit = float(np.interp(places[best], bell.arc, envelope))
    if margin[best] < MARGIN or abs(height[best]) < limit:
        return None
    low, high = places[best] - REACH * width, places[best] + REACH * width
    inside = np.flatnonzero((bell.arc > low) & (bell.arc < high))
    without_one = [_borne_out(*_less(int(row), shapes[:, [best]], noise, rest))[1][0] for row in inside]
    size, alone = float(height[best]), bool(min(without_one, default=-np.inf) < MARGIN)
    if alone:
        row = int(inside[np.argmin(without_one)]) if len(inside) else int(np.argmin(np.abs(bell.arc - places[best])))
        low = high = float(bell.arc[row])
        beside = np.linalg.inv(noise)[row]
        size = float(beside @ rest / beside[row])
    return LocalFault(
        bell.bell_id, bell.batch_id, float(low), float(high), size, float(margin[best]), alone=alone
    )


def _borne_out(shapes: Floats, noise: Floats, rest: Floats) -> tuple[Floats, Floats]:
    """Height [mm] of each swelling of `shapes` (n, k) in what is left (n,), and its log evidence, (k,)."""
    solved = np.linalg.solve(noise, np.column_stack((shapes, rest)))
    sharpness, pull = np.einsum("np,np->p", shapes, solved[:, :-1]), shapes.T @ solved[:, -1]
    height = pull / (sharpness + SIZE_SD_MM**-2)
    return height, 0.5 * pull * height - 0.5 * np.log1p(sharpness * SIZE_SD_MM**2)


def _less(row: int, shapes: Floats, noise: Floats, rest: Floats) -> tuple[Floats, Floats, Floats]:
    """The same without one row."""
    kept = np.arange(len(rest)) != row
    return shapes[kept], noise[np.ix_(kept, kept)], rest[kept]
