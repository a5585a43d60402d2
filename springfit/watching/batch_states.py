"""The state of each batch: its zones charted on their mandrel, and the faults that were named in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.watching.batches.bell_zones import ZONES
from springfit.watching.batches.zone_scores import ZoneScore
from springfit.watching.charts.change_point import LEAST, change_point
from springfit.watching.charts.control_chart import LEAST_EARLIER, STOP, WATCH, ControlChart, control_chart
from springfit.watching.judged_batches import JudgedBatch

__all__ = ["STATES", "BatchState", "ZoneState", "batch_states", "worst"]

Floats = NDArray[np.float64]

STATES = ("usual", "watch", "stop")
# Share of a batch's bells with a fault of the spinning at which the batch is to stop; half: then it is the batch;
# assumed
MOST_BELLS = 0.5


@dataclass(frozen=True)
class ZoneState:
    """A zone of a batch: its `score`, its `state`, what gave it (`by`: value, sum, mean, spread, envelope, fault or
    empty), the batch that a shift of sum or mean began with (`since`), and where its mandrel's chart then stood."""

    score: ZoneScore
    state: str
    by: str
    since: str
    standard: float
    sum_high: float
    sum_low: float
    weighted: float
    weighted_limit: float


@dataclass(frozen=True)
class BatchState:
    """A batch as judged, the state of each zone of it, and its own."""

    judged: JudgedBatch
    zones: tuple[ZoneState, ...]
    state: str

    @property
    def by_envelope(self) -> bool:
        """Whether there were too few batches before it for any other limit than the elastic envelope."""
        return self.judged.earlier < LEAST_EARLIER


def worst(states: Sequence[str]) -> str:
    """The worst of some states; usual of none."""
    return max(states, key=STATES.index, default="usual")


def batch_states(judged: Sequence[JudgedBatch]) -> tuple[BatchState, ...]:
    """The states of batches given oldest first, each mandrel and zone on a chart of its own."""
    charted: dict[tuple[str, str], ZoneState] = {}
    for mandrel in dict.fromkeys(one.mandrel_id for one in judged):
        for zone in ZONES:
            here = [one for one in judged if one.mandrel_id == mandrel]
            mine = [(one, score) for one in here for score in one.zones if score.zone == zone]
            if mine:
                charted.update(_chart(mine))
    return tuple(_state(one, charted) for one in judged)


def _chart(mine: Sequence[tuple[JudgedBatch, ZoneScore]]) -> dict[tuple[str, str], ZoneState]:
    """The states of one zone on one mandrel, by batch and zone."""
    faulty = [any(not named.of_measuring and not named.bell_id for named in one.named) for one, _ in mine]
    chart = control_chart([score.score for _, score in mine], [one.earlier for one, _ in mine], faulty)
    return {
        (one.batch_id, score.zone): _zone_state(mine, chart, place) for place, (one, score) in enumerate(mine)
    }


def _zone_state(mine: Sequence[tuple[JudgedBatch, ZoneScore]], chart: ControlChart, place: int) -> ZoneState:
    one, score = mine[place]
    state, by = chart.state[place], chart.by[place]
    if one.earlier < LEAST_EARLIER:
        beyond = abs(score.measured) > score.envelope
        state, by = ("stop", "envelope") if beyond else ("usual", "")
    elif state == "usual" and np.isfinite(score.spread_score) and score.spread_score > WATCH:
        state, by = ("stop" if score.spread_score > STOP else "watch"), "spread"
    since = mine[_began(chart.standard[: place + 1])][0].batch_id if by in ("sum", "mean") else ""
    return ZoneState(
        score, state, by, since, float(chart.standard[place]), float(chart.sums.high[place]),
        float(chart.sums.low[place]), float(chart.means.mean[place]), float(chart.means.limit[place]),
    )  # fmt: skip


def _began(standard: Floats) -> int:
    """Number of the value (n,), nan where there were no limits, at which the mean most likely broke."""
    known = np.flatnonzero(np.isfinite(standard))
    return int(known[change_point(standard[known]).after if known.size >= LEAST else 0])


def _state(one: JudgedBatch, charted: dict[tuple[str, str], ZoneState]) -> BatchState:
    zones = tuple(charted[one.batch_id, score.zone] for score in one.zones)
    zones = _with_faults(one, zones)
    states = [zone.state for zone in zones]
    spinning = [named for named in one.named if not named.of_measuring]
    if any(not named.bell_id and not named.by_size for named in spinning):
        states.append("stop")
    share = len({named.bell_id for named in spinning if named.bell_id}) / max(len(one.bells), 1)
    if one.named:
        states.append("stop" if share >= MOST_BELLS else "watch")
    return BatchState(one, zones, worst(states))


def _with_faults(one: JudgedBatch, zones: tuple[ZoneState, ...]) -> tuple[ZoneState, ...]:
    """The zones with the state of the faults that sit in them, one added where all its readings belong to a fault."""
    by_zone = {zone.score.zone: zone for zone in zones}
    for name in dict.fromkeys(named.zone for named in one.named if named.zone and not named.of_measuring):
        share = len({n.bell_id for n in one.named if n.zone == name and not n.of_measuring}) / max(len(one.bells), 1)
        had = by_zone.get(name) or _unread(one, name)
        state = worst([had.state, "stop" if share >= MOST_BELLS else "watch"])
        by_zone[name] = replace(had, state=state, by="fault")
    return tuple(by_zone[zone] for zone in ZONES if zone in by_zone)


def _unread(one: JudgedBatch, zone: str) -> ZoneState:
    """A zone of which no sound reading is left."""
    none = float("nan")
    score = ZoneScore(one.batch_id, zone, len(one.bells), 0, none, none, none, none, none, none, none, none, none)
    return ZoneState(score, "usual", "", "", none, none, none, none, none)
