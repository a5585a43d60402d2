"""Which fault a bell or a batch shows: named when it beats springback alone, with those that could as well be it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.watching.batches.batch_size import BatchSize
from springfit.watching.batches.predictive import Predictive
from springfit.watching.signatures.pattern import Shown, best_of
from springfit.watching.signatures.patterns import Readings, whole_patterns

__all__ = ["BELL_MARGIN", "MEASURING", "TIMES_READING", "Named", "named_in"]

Floats = NDArray[np.float64]

# Nats of evidence. Some ten patterns are tried on a batch and on each bell; at these a sound batch is named once in a
# hundred, a sound bell once in a thousand (the deviate that a pattern must show is 3.3 and 3.9). Sheet of another
# temper has a limit of its own (`batch_size.ALARM`): it is the commonest of them, and the hardest to see.
BATCH_MARGIN, BELL_MARGIN = 4.0, 6.0
APART = 3.0  # nats by which the first must beat another for that one not to be it: 20 to 1
TIMES_READING = 2.0  # sds of one reading that a pattern must move some reading by; assumed
TEMPER = "temper"
MEASURING = frozenset({"gauge_zero", "off_seat", "warm", "reading_slip", "doubted_record", "mislabelled"})
"""Names that lie with the measuring or the record, not with the spinning."""


@dataclass(frozen=True)
class Named:
    """One fault found. `bell_id` empty when all the batch shows it; `size` with its sd in `unit`; stretch of arc [mm];
    `margin` nats over springback alone; `group` the names that the readings cannot tell apart, the first of which is
    `name`; `against` the evidence of each other name of the group, or of the next best, in nats behind."""

    name: str
    batch_id: str
    bell_id: str
    size: float
    size_sd: float
    unit: str
    at: tuple[float, float]
    margin: float
    group: tuple[str, ...]
    against: tuple[tuple[str, float], ...] = ()
    gauge_id: str = ""
    """Of a gauge off its zero: which."""
    zone: str = ""
    """Where a fault of one stretch sits; empty where it goes all along."""

    @property
    def by_size(self) -> bool:
        """Whether nothing but the size of the batch's springback speaks for it."""
        return not self.bell_id and self.margin < BATCH_MARGIN

    @property
    def of_measuring(self) -> bool:
        """Whether everything it may be lies with the measuring or the record."""
        return set(self.group) <= MEASURING


def named_in(
    predictive: Predictive, readings: Readings, *, bell_id: str = "", size: BatchSize | None = None
) -> Named | None:
    """The fault that a batch (or the one bell in it) shows as a whole; None where springback will do. `size` of all
    springback of a batch: where it stands out, other sheet and what looks like it need no more evidence."""
    shown = best_of(whole_patterns(readings), predictive.rest, predictive.solve)
    reading_sd = float(np.median(np.sqrt(np.concatenate([one.noise for one in predictive.bells]))))
    felt = [one for one in shown if one.largest >= TIMES_READING * reading_sd]
    enough = [one for one in felt if one.margin >= (BELL_MARGIN if bell_id else BATCH_MARGIN)]
    # What explains it best may be no fault: a seat that hands do leave. The next best then explains nothing more.
    if enough:
        return None if enough[0].harmless else _grouped(enough[0], shown, predictive.batch_id, bell_id)
    if size is None or not size.stands_out or not felt or felt[0].harmless:
        return None
    found = _grouped(felt[0], shown, predictive.batch_id, bell_id)
    return found if TEMPER in found.group else None


def _grouped(first: Shown, shown: Sequence[Shown], batch_id: str, bell_id: str) -> Named:
    names, against = [first.pattern.name], []
    for other in shown:
        behind = first.margin - other.margin
        if other.pattern.name == first.pattern.name:
            continue
        if behind < APART and other.margin > 0.0:
            names.append(other.pattern.name)
        against.append((other.pattern.name, behind))
    pattern = first.pattern
    return Named(
        pattern.name, batch_id, bell_id, first.size, first.size_sd, pattern.unit, pattern.at, first.margin,
        tuple(names), tuple(against[: max(len(names) - 1, 2)]), pattern.gauge_id,
    )  # fmt: skip
