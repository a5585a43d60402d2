"""A laid shop small enough to keep: part of one drawn by `tests.worlds`, with its truth, written into `tests/data`.

    python -m tests.worlds.make laid 90 OUT
    python -m tests.helpers.programs.kept_shop OUT

Run it again only with another shop in mind: what the tests say of this one was written down for it.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pandas as pd

from tests.helpers.repository import DATA

LAID_SHOP = DATA / "laid_shop"

# What is kept: of two mandrels, one of them plated between its batches, the first eight batches, three bells of each;
# a bell asked of either and one of a mandrel that is not in the book.
MANDRELS, BATCHES, BELLS, ASKED = ("ASH", "COB"), 8, 3, ("R00", "R01", "R02")
EVERY, DIGITS = 4, 5  # of an asked bell's 200 stations; a hundredth of a micrometre


def keep(source: Path, out: Path = LAID_SHOP) -> None:
    """Write the part of the shop at `source` that is kept; what lies at `out` but its README goes."""
    for old in out.glob("**/*.csv"):
        old.unlink()
    (out / "truth").mkdir(parents=True, exist_ok=True)
    of_mandrel = {
        name: _of(_read(source, name), "mandrel_id", MANDRELS) for name in ("mandrels", "mandrel_profile", "targets")
    }
    batches = _of(_read(source, "batches"), "mandrel_id", MANDRELS).head(BATCHES)
    bells = _of(_read(source, "bells"), "batch_id", batches["batch_id"])
    bells = bells[bells["order_in_batch"].astype(int) <= BELLS]
    kept = {
        **of_mandrel, "batches": batches, "bells": bells, "gauges": _read(source, "gauges"),
        "measurements": _of(_read(source, "measurements"), "bell_id", bells["bell_id"]),
        "target_profile": _of(_read(source, "target_profile"), "target_id", of_mandrel["targets"]["target_id"]),
    }  # fmt: skip
    for name, table in kept.items():
        table.to_csv(out / f"{name}.csv", index=False)
    asked = pd.read_csv(source / "truth" / "queries.csv").groupby("name").nth(slice(None, None, EVERY))
    _of(asked, "name", ASKED).round(DIGITS).to_csv(out / "truth" / "queries.csv", index=False)
    for name in ASKED:
        for part in ("profile", "conditions"):
            shutil.copyfile(source / "truth" / f"{part}_{name}.csv", out / "truth" / f"{part}_{name}.csv")


def _read(source: Path, name: str) -> pd.DataFrame:
    return pd.read_csv(source / f"{name}.csv", dtype=str, keep_default_na=False)


def _of(table: pd.DataFrame, column: str, names: object) -> pd.DataFrame:
    return table[table[column].isin(list(names))]  # type: ignore[call-overload]


if __name__ == "__main__":
    keep(Path(sys.argv[1]))
