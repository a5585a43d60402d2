"""What drives springback from batch to batch: one function a feature, with its unit, reason and expected sign.

A *batch feature* is one number a batch (wall, passes, tool nose ...) and scales the basis fields; nan means the record
is blank, which widens the band. Labels without an order (lot, spinner ...) are `LABELS`: groups that share a variance.
What differs from place to place along a bell is in `station_features`.

Each batch feature is centred on the shop's usual practice and scaled so that one unit is a change a maker would
call large; a new feature is one function and one line of `BATCH_FEATURES`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from springfit.mechanics.laying.shop_words import USUAL_NOSE_MM
from springfit.mechanics.metal.alloys import alloy
from springfit.mechanics.metal.hardening import flow_stress
from springfit.records.conditions import Conditions

__all__ = ["BATCH_FEATURES", "LABELS", "BatchFeature", "tool_nose"]

LABELS = ("mandrel", "alloy", "lot", "spinner", "draw_ring", "lubricant")

# [MPa] The annealed brasses of `tempers.csv` (UNS C2....) have 90 to 142, 121 in the mean: a centre for all of them, as
# which a blank is taken, and no prediction of any one (cartridge brass, C26000, has 135). Stored models count from it.
USUAL_YIELD_MPA = 120.0
# Half-way between by their names; a high hump is a smaller change than one left out; assumed.
_ANNEAL = {"full": 0.0, "partial": 0.5, "none": 1.0}
_HUMP = {"none": -1.0, "low": -0.5, "good": 0.0, "high": 0.5}


@dataclass(frozen=True)
class BatchFeature:
    """One number of a batch. `spread` is the usual 1 sd of it where the record is blank; `sign` of its effect on the
    gap as the trade or the mechanics expects it (0: either way)."""

    name: str
    unit: str
    reason: str
    sign: int
    spread: float
    value: Callable[[Conditions], float]


def _log_ratio(value: float | None, usual: float) -> float:
    return float("nan") if value is None or not value > 0 else float(np.log(value / usual))


def _word(table: dict[str, float], word: str | None) -> float:
    return table.get(word, float("nan")) if word is not None else float("nan")


def tool_nose(conditions: Conditions) -> float:
    """ln of the nose radius over 10 mm, the usual one; nan where blank."""
    return _log_ratio(conditions.tool_nose_mm, USUAL_NOSE_MM)


def _temper(conditions: Conditions) -> float:
    """ln of the yield of the sheet as bought over 120 MPa, that of annealed brass; nan where temper is blank."""
    if conditions.temper is None:
        return float("nan")
    stress = flow_stress(alloy(conditions.alloy), temper=conditions.temper, anneal="none")
    return _log_ratio(float(stress.value), USUAL_YIELD_MPA)


# Centres are usual practice. The spread of one left blank is how shops differ, assumed: sheet by a gauge number or so
# (11 % a step), temper by a step of the table, anneal and hump by most of a word, passes by one, noses from 6 to 18 mm,
# speeds by a fifth.
BATCH_FEATURES: tuple[BatchFeature, ...] = (
    BatchFeature("wall", "ln of wall / 0.5 mm", "bending recovery falls as the wall grows", -1, 0.15,
                 lambda c: _log_ratio(c.wall_mm, 0.5)),
    BatchFeature("temper", "ln of yield as bought / 120 MPa", "harder sheet stores more elastic strain", +1, 0.4,
                 _temper),
    BatchFeature("anneal", "0 full, 0.5 partial, 1 none", "unannealed sheet stores more elastic strain", +1, 0.4,
                 lambda c: _word(_ANNEAL, c.anneal)),
    BatchFeature("passes", "ln of forward passes / 2", "each pass works and presses the sheet again", 0, 0.5,
                 lambda c: _log_ratio(c.passes, 2.0)),
    BatchFeature("hump", "-1 none .. 0 good .. 0.5 high", "free metal ahead of the tool stands off the steel", +1,
                 0.4, lambda c: _word(_HUMP, c.hump)),
    BatchFeature("tool_nose", "ln of nose radius / 10 mm", "a blunt nose bends the sheet less as it passes", 0, 0.6,
                 tool_nose),
    BatchFeature("spindle_speed", "ln of speed / 1000 rpm", "none expected: the watchdog of this list", 0, 0.2,
                 lambda c: _log_ratio(c.spindle_rpm, 1000.0)),
)  # fmt: skip
