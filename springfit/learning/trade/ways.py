"""How sheet is spun over the range of the trade: hands as they may differ, and what a record says of a batch."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.hand import HAND_SD, RIM_AT_TOP, Hand
from springfit.records.conditions import Conditions

__all__ = ["drawn_hand", "drawn_way"]

# What is spun into bells, each as often as it stands here; common practice, no source.
ALLOYS = ("C26000", "C26000", "C26000", "C22000", "C27000", "C26800")
TEMPERS = ("annealed", "annealed", "H01", "H02")
ANNEALS = ("full", "full", "partial", "none")
HUMPS = ("low", "good", "good", "high")
PASSES = (1, 2, 2, 3)
WALLS_MM = (0.4, 0.45, 0.5, 0.5, 0.55, 0.6, 0.7)
NOSES_MM = (6.0, 16.0)
# Drawing stops where the bell is a fifth to a third of its rim, and no more than this is spun; common practice, no
# source.
SLENDER, SPUN_MM = (0.2, 0.36), (90.0, 150.0)


def drawn_hand(random: np.random.Generator) -> Hand:
    """A shop's hand: as far from what is assumed as one may be, its rim at the top of the hump or past it."""
    hand = Hand.of(HAND_SD * random.normal(size=HAND_SD.size))
    return replace(hand, start=abs(hand.start), rim=RIM_AT_TOP + abs(hand.rim))


def drawn_way(random: np.random.Generator, steel: Meridian) -> Conditions:
    """How one batch is spun on `steel`."""
    slender = float(steel.arc_reaching(random.uniform(*SLENDER) * steel.r[-1]))
    drawn_to = max(slender, steel.length - random.uniform(*SPUN_MM))
    return Conditions(
        name="drawn", alloy=str(random.choice(ALLOYS)), temper=str(random.choice(TEMPERS)),
        wall_mm=float(random.choice(WALLS_MM)), anneal=str(random.choice(ANNEALS)), passes=int(random.choice(PASSES)),
        hump=str(random.choice(HUMPS)), tool_nose_mm=float(random.uniform(*NOSES_MM)),
        draw_end_mm=float(steel.at(drawn_to).z), blank_rim_mm=float(2.0 * steel.r[-1]),
    )  # fmt: skip
