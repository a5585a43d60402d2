"""The prior of free shares, as `make_shares` left it in the package: mean and covariance of the shops of the trade."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS

__all__ = ["SHARES_FILE", "TradeShares", "kept_shares", "trade_shares"]

Floats = NDArray[np.float64]

SHARES_FILE = "trade_shares.json"


@dataclass(frozen=True, eq=False)
class TradeShares:
    """Places (k,) among FIELDS, `mean` (k,) and `covariance` (k, k) of the shares [-] of a shop there, `within` (k, k)
    that of its bells about it, and `left` (2,) the sd of what the fields leave of hoop and moment."""

    places: NDArray[np.intp]
    mean: Floats
    covariance: Floats
    within: Floats
    left: Floats


@cache
def trade_shares() -> TradeShares:
    """What the package says of a shop nobody has measured."""
    kept, names = kept_shares(), [field.name for field in FIELDS]
    places = np.array([names.index(name) for name in kept["fields"]], dtype=np.intp)
    numbers = (np.array(kept[name]) for name in ("mean", "covariance", "within_shops", "left_of_hoop_and_moment"))
    return TradeShares(places, *numbers)


def kept_shares() -> dict[str, Any]:
    """The file as it is: these numbers, the fields by name, and how it was made."""
    text = resources.files("springfit.learning.trade").joinpath(SHARES_FILE).read_text(encoding="utf-8")
    return dict(json.loads(text))
