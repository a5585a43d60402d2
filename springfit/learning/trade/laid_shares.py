"""Shops drawn over the range of the trade, their sheet laid, and what share of flow stress it then holds.

A bell's shares are sums of the free fields that a prior is wanted for, those of hoop and moment along what was spun:
y = X k. Shares along the bell are left out: a pull of the tail moves a bell as a seat does, so that records can hardly
tell one, and a prior as wide as laying has it would give places away. So are facets and what is drawn: none is laid.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.batch_basis import batch_basis
from springfit.learning.basis.hand import Hand
from springfit.learning.basis.laid_state import COLUMNS, kept_in, sheet_on_steel
from springfit.learning.basis.stress_fields import FIELDS, of_share
from springfit.learning.trade.between_shops import Shown
from springfit.learning.trade.horns import drawn_horn
from springfit.learning.trade.ways import drawn_hand, drawn_way
from springfit.mechanics.laying import Laid, lay_many
from springfit.records.conditions import Conditions

__all__ = ["LAID_FIELDS", "drawn_shops"]

LAID_FIELDS = np.flatnonzero([field.feature not in ("drawn", "facet") for field in FIELDS] & of_share("hoop", "moment"))
"""Places of the fields whose shares laying tells."""
MANDRELS, WAYS = 3, 4  # of a shop: what its bells have in common is then told from what one of them has to a half
SPUN = 0.5  # of the zone, from which on a station is spun


def drawn_shops(
    count: int, *, seed: int, progress: Callable[[int, int], None] | None = None
) -> list[list[Shown]]:
    """What hoop and moment of each bell show, of `count` shops, each of one hand, `WAYS` ways on each of `MANDRELS`
    mandrels; bells that find no equilibrium are left out."""
    random = np.random.default_rng(seed)
    shops = [_drawn_shop(random) for _ in range(count)]
    bells = [(steel, way, hand) for shop in shops for steel, way, hand in shop]
    cases = [sheet_on_steel(steel, way, hand.form(way)) for steel, way, hand in bells]
    laid = iter(lay_many(cases, jobs=-1, folder=kept_in(), fineness=COLUMNS, progress=progress))
    return [[_shares(steel, way, one) for steel, way, _ in shop if (one := next(laid)) is not None] for shop in shops]


def _drawn_shop(random: np.random.Generator) -> list[tuple[Meridian, Conditions, Hand]]:
    hand = drawn_hand(random)
    mandrels = [drawn_horn(random) for _ in range(MANDRELS)]
    return [(steel, drawn_way(random, steel), hand) for steel in mandrels for _ in range(WAYS)]


def _shares(steel: Meridian, way: Conditions, laid: Laid) -> Shown:
    basis = batch_basis(steel, way, None, stage="spun")
    spun = basis.spun > SPUN
    hoop, _, moment = laid.at(basis.arc[spun]).shares(wall=way.wall_or_usual, flow_stress=basis.flow_stress)
    fields = basis.shares
    return Shown(((fields.hoop[spun][:, LAID_FIELDS], hoop), (fields.moment[spun][:, LAID_FIELDS], moment)))
