"""How a shop's hands lay sheet, where that differs from what is assumed of the words in its records.

Nine numbers hold for every batch of a shop. What they mean for one batch is a `SheetForm` of the laying model:

    further  = further + hump ln(stand-off of its word / that of a good hump)
    stronger = stronger + temper, anneal and passes times the features of these names

and `start`, `rim` and `skew` are the same for all. Before any bell they are nought, and the rim lies at the top of its
hump; `calibration` finds them from bells. The rim's place along a hump is kept as a logit, `rim`, of its range: a step
of one is as large for a rim at the top of the hump as for one on its foot.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, fields

import numpy as np
from numpy.typing import NDArray

from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.mechanics.laying.shop_words import HUMP_STAND_OFF_MM, USUAL_HUMP, SheetForm
from springfit.records.conditions import Conditions

__all__ = ["AS_ASSUMED", "FORM_NUMBERS", "HAND_SD", "RIM_AT_TOP", "Hand", "form_of", "form_rows"]

Floats = NDArray[np.float64]

RIM_PLACES = (0.3, 0.95)  # below, the hump would be fullest past the rim; above, the rim lies on the steel; assumed
RIM_AT_TOP = -0.8109302162163288  # logit of a rim at the top of its hump, place 0.5: ln(0.20 / 0.45)
# 1 sd about nought of what a hand may be, in the order of its fields; but for the strength all are assumed, no source.
# A hump is half as much again or less; the words differ by a third more or less than assumed; a start moves by a tenth
# of the spun length; a rim lies anywhere from the top of its hump to its foot; a third of skew. Strength: 15 % as
# tempers range (ASTM B36), what temper and anneal do to it by a third of itself, passes by half as much.
HAND_SD = np.array([0.5, 0.35, 0.1, 0.8, 0.3, 0.15, 0.3, 0.3, 0.15])
_STRENGTH = ("temper", "anneal", "passes")
FORM_NUMBERS = 5
"""Count of the numbers of one batch's sheet: further, start, rim, skew, stronger."""


@dataclass(frozen=True)
class Hand:
    """The nine numbers of a shop; natural logarithms but `start` (a part of the spun length), `rim` (a logit) and
    `hump` (a power)."""

    further: float = 0.0
    hump: float = 0.0
    start: float = 0.0
    rim: float = RIM_AT_TOP
    skew: float = 0.0
    stronger: float = 0.0
    temper: float = 0.0
    anneal: float = 0.0
    passes: float = 0.0

    @classmethod
    def of(cls, numbers: Floats) -> Hand:
        """The hand of nine numbers in the order of its fields."""
        return cls(*map(float, numbers))

    @property
    def numbers(self) -> Floats:
        """The nine numbers, in the order of the fields."""
        return np.array(astuple(self), dtype=float)

    def form(self, conditions: Conditions, *, rim_more: float = 0.0) -> SheetForm:
        """The sheet of a batch spun under `conditions`; `rim_more` is added to the logit of its rim's place."""
        numbers = form_rows(conditions) @ self.numbers
        numbers[2] += rim_more
        return form_of(numbers)


AS_ASSUMED = Hand()
"""The hand of a shop of which no bell is known."""


def form_rows(conditions: Conditions) -> Floats:
    """Rows (FORM_NUMBERS, 9) that turn a shop's numbers into those of one batch's sheet. A blank is as usual."""
    places = {field.name: place for place, field in enumerate(fields(Hand))}
    rows = np.zeros((FORM_NUMBERS, len(places)))
    for row, name in enumerate(("further", "start", "rim", "skew", "stronger")):
        rows[row, places[name]] = 1.0
    word = USUAL_HUMP if conditions.hump is None else conditions.hump
    good = HUMP_STAND_OFF_MM[USUAL_HUMP]
    rows[0, places["hump"]] = np.log(HUMP_STAND_OFF_MM.get(word, good) / good)  # `stand_off` refuses other words
    for feature in BATCH_FEATURES:
        if feature.name in _STRENGTH:
            rows[4, places[feature.name]] = np.nan_to_num(feature.value(conditions))
    return rows


def form_of(numbers: Floats) -> SheetForm:
    """The sheet of FORM_NUMBERS numbers."""
    further, start, rim, skew, stronger = map(float, numbers)
    low, high = RIM_PLACES
    return SheetForm(further, start, low + (high - low) / (1.0 + float(np.exp(-rim))), skew, stronger)
