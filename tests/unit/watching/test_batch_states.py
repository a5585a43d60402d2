"""The states of batches on their mandrel's charts: a shift that builds up is told with the batch it began with."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.reporting.watching_pages.watch_wording import reason_words
from springfit.watching.batch_states import BatchState, batch_states
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.batches.zone_scores import ZoneScore
from springfit.watching.charts.control_chart import LEAST_EARLIER
from springfit.watching.judged_batches import JudgedBatch

NONE = np.zeros(0)


def judged(name: str, score: float, *, earlier: int = LEAST_EARLIER) -> JudgedBatch:
    """A batch whose rim came out at `score` sds of its forecast."""
    nan = float("nan")
    rim = ZoneScore(name, "rim", 5, 40, 0.02 * score, 0.0, 0.02 * score, 0.02, score, nan, nan, nan, 9.0)
    line = SteelLine(NONE, NONE, ())
    return JudgedBatch(name, "M", 0, "2024-01-02", earlier, "v1", (rim,), (), ("b",), (), None, 99.0, line, None)


def charted(scores: list[float]) -> list[BatchState]:
    return list(batch_states([judged(f"B{number}", score) for number, score in enumerate(scores)]))


@pytest.mark.parametrize("began", [5, 8])
def test_a_shift_is_told_with_the_batch_it_began_with(began: int) -> None:
    scatter = np.random.default_rng(4).normal(0.0, 0.4, began + 8)
    states = charted([*scatter[:began], *(scatter[began:] + 1.8)])
    first = next(state for state in states if state.zones[0].by in ("sum", "mean"))
    assert states.index(first) > began
    assert first.zones[0].since == f"B{began}"
    assert f"most likely since B{began}" in reason_words(first)


def test_one_batch_that_stands_out_began_nothing() -> None:
    states = charted([0.1, -0.2, 0.3, 0.0, 3.6])
    assert states[-1].zones[0].by == "value" and not states[-1].zones[0].since
    assert "since" not in reason_words(states[-1])
