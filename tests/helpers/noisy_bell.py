"""A bell read with noise, on a seat that nobody knows."""

from __future__ import annotations

import numpy as np

from springfit.learning.data.observations import Bell, Session
from springfit.watching.batches.predictive import BellRows

SEAT_SD, NOISE, REACH = 0.4, 0.01, 0.06  # [mm]


def rows(seed: int, more: np.ndarray | float = 0.0, *, step: float = 8.0) -> BellRows:
    """A bell with noise and a seat nobody knows, `more` [mm] at its stations."""
    rng = np.random.default_rng(seed)
    arc = np.arange(80.0, 420.0, step)
    slope = np.radians(1.0 + 75.0 * np.clip((arc - 280.0) / 140.0, 0.0, 1.0) ** 2)
    rest = more - rng.normal(0.0, SEAT_SD) * np.sin(slope) + rng.normal(0.0, NOISE, len(arc))
    ones, session = np.ones_like(arc), (Session("trimmed", "tail", "MIC", np.nan),)
    bell = Bell(
        bell_id="a", batch_id="b", arc=arc, slope=slope, gap=rest, variance=NOISE**2 * ones, through_wall=ones,
        springs=ones, session=np.zeros(len(arc), dtype=np.intp), sessions=session, wall=0.5, readings=len(arc),
        design=np.zeros((len(arc), 1)), envelope=REACH * ones,
    )  # fmt: skip
    none = np.zeros_like(arc)
    return BellRows(bell, rest, bell.variance, -SEAT_SD * np.sin(slope)[:, None], none, none)
