"""The crude ridge a forecast has to beat, scored on a shop with known truth: python -m tests.worlds.ridge SHOP.

About forty columns (hoop in the spun part by alloy, temper, anneal, passes, wall; hoop near the end of the draw, with
sin(slope), in the drawn part by ring; moment by curvature; humps), each let go by a linear shell, with batch, bell and
seat effects, and one penalty.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from .ridge_fit import Ridge, fitted
from .ridge_rows import read_batches, steel_of

__all__ = ["main", "scored"]

Array = NDArray[np.float64]

FLARE = 0.6  # of the arc, where the flare begins


def scored(ridge: Ridge, truth: Path) -> dict[str, float | None]:
    """Root mean squares [mm] over the flares of asked bells without back passes, and of no springback at all."""
    rows = []
    for name, asked in pd.read_csv(truth / "queries.csv").groupby("name"):
        conditions = dict(pd.read_csv(truth / f"conditions_{name}.csv").iloc[0])
        if conditions["back_passes"] > 0:
            continue
        profile = pd.read_csv(truth / f"profile_{name}.csv")
        steel = steel_of(profile["z_mm"].to_numpy(), profile["diameter_mm"].to_numpy())
        gap, s = asked["gap"].to_numpy(), asked["s"].to_numpy()
        off, flare = ridge.gap(steel, conditions, s) - gap, s > FLARE * s.max()
        sine = np.sin(np.arctan2(np.gradient(asked["r"].to_numpy()), np.gradient(asked["z"].to_numpy())))[flare]
        rows.append({"seen": bool(asked["seen"].iloc[0]), "rms": _rms(off[flare]), "none": _rms(gap[flare]),
                     "shape": _rms(_unslid(off[flare], sine)),
                     "none_shape": _rms(_unslid(gap[flare], sine))})  # fmt: skip
    table = pd.DataFrame(rows)
    figures: dict[str, float | None] = {}
    for column in ("rms", "none", "shape", "none_shape"):
        for word, kept in (("seen", table["seen"]), ("new", ~table["seen"])):
            values = table.loc[kept, column].to_numpy()
            figures[f"{column}_{word}"] = round(_rms(values), 4) if len(values) else None
    return figures


def main(words: list[str] | None = None) -> None:
    """Fit on a shop's book, score on its truth, print the figures as JSON."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("shop", type=Path)
    shop = parser.parse_args(words).shop
    ridge = fitted(read_batches(shop))
    print(json.dumps({**scored(ridge, shop / "truth"), "penalty": round(ridge.penalty, 3)}))


def _unslid(off: Array, sine: Array) -> Array:
    """An error with the best slide along the axis taken out."""
    return np.asarray(off - sine * float(sine @ off) / float(sine @ sine))


def _rms(values: Array) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


if __name__ == "__main__":
    main()
