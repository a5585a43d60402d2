"""Makes `trade_shares.json`: python -m springfit.learning.trade.make_shares (some two minutes of two cores).

Sixty shops are drawn, each of one hand and four ways of spinning on each of three horns, and laid; the mean of their
shares and how they differ from shop to shop is the prior of a shop that nobody has measured.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from springfit.files import write_file
from springfit.learning.basis.laid_state import COLUMNS
from springfit.learning.basis.spline_rows import spline_rows, walked
from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.trade.between_shops import YIELD, between_shops
from springfit.learning.trade.laid_shares import LAID_FIELDS, MANDRELS, WAYS, drawn_shops
from springfit.learning.trade.trade_shares import SHARES_FILE

__all__ = ["made_shares"]

Floats = NDArray[np.float64]

SHOPS, SEED = 60, 1  # shops: each covariance is then sure to a fifth or so; any seed
FIGURES = 4  # after the point; a thousandth of a share is less than any reading tells
# [-] of the shops that stand beside those drawn: neighbouring splines end to end by a half in hoop and 0.15 in moment,
# an overlap half the usual hoop share, edges and the rest as large as records seem to ask; assumed, and a tenth of all
WALK = {"hoop": 0.15, "moment": 0.06}
SINGLE = {"hoop_overlap": 0.3, "hoop_edge": 0.1, "moment_edge": 0.15, "hoop_radius": 0.07, "moment_radius": 0.2}


def made_shares(shops: int = SHOPS, seed: int = SEED) -> dict[str, object]:
    """What the file holds, of `shops` drawn by `seed`."""

    def told(done: int, of: int) -> None:
        print(f"\rlaying sheets on steel: {done} of {of}", end="", file=sys.stderr)

    bells = drawn_shops(shops, seed=seed, progress=told)
    found = between_shops([shop for shop in bells if shop], _smooth())
    return {
        "made_by": "python -m springfit.learning.trade.make_shares",
        "of": f"{shops} shops drawn by seed {seed}, {MANDRELS} horns and {WAYS} ways each, "
        f"{sum(map(len, bells))} of them laid, {COLUMNS.layers} layers, elements of {COLUMNS.element_walls} and "
        f"advances of {COLUMNS.advance_walls} walls",
        "unit": "shares of the flow stress of the worked sheet",
        "fields": [FIELDS[place].name for place in LAID_FIELDS],
        "mean": np.round(found.mean, FIGURES).tolist(),
        "covariance": np.round(found.between, FIGURES).tolist(),
        "within_shops": np.round(found.within, FIGURES).tolist(),
        "left_of_hoop_and_moment": np.round(found.left, FIGURES).tolist(),
    }


def _smooth() -> Floats:
    """Covariance (LAID_FIELDS, LAID_FIELDS) of shops of smooth shares."""
    matrix = np.zeros((len(FIELDS), len(FIELDS)))
    for name, walk in WALK.items():
        places = spline_rows()[name]
        matrix[np.ix_(places, places)] = walked(len(places), level=YIELD, walk=walk)
    for place, field in enumerate(FIELDS):
        if field.name in SINGLE:
            matrix[place, place] = 1.0 / SINGLE[field.name] ** 2
    return np.asarray(np.linalg.inv(matrix[np.ix_(LAID_FIELDS, LAID_FIELDS)]), dtype=np.float64)


if __name__ == "__main__":
    write_file(Path(__file__).with_name(SHARES_FILE), (json.dumps(made_shares(), indent=1) + "\n").encode())
