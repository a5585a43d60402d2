"""A large invented shop: a small one, pressed by the solid, laid out again and again with fresh reading noise.

Pressing 8 000 bells takes hours, so forty batches are pressed and repeated: each copy has batches, bells and lots of
its own and later days, every fifth copy new mandrels of the same shape; every reading gets its gauge's noise anew. A
copy's batches have the effects of their originals; nothing measured here depends on that.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop

__all__ = ["large_book"]

SEED = 3
BATCHES, MANDRELS, BELLS = 40, 6, 8  # of the shop that is pressed
COPIES_OF_A_MANDREL = 5
READ_AGAIN = 45.0  # [deg] where a reading is taken once more to come to the count wanted

Tables = dict[str, pd.DataFrame]


def large_book(folder: Path, *, batches: int, readings_a_bell: float | None = None) -> Path:
    """Write a book of `batches` batches of eight bells; `readings_a_bell` on average, by reading some again."""
    rng = np.random.default_rng(SEED)
    tables = make_shop(SEED, batches=BATCHES, mandrels=MANDRELS, bells=BELLS, blanks=0.02).tables
    copies = [_copy(tables, number, rng) for number in range(-(-batches // BATCHES))]
    whole = {name: pd.concat([copy[name] for copy in copies], ignore_index=True) for name in tables}
    whole["gauges"] = tables["gauges"]
    for name, keys in (
        ("mandrels", ["mandrel_id", "revision"]),
        ("mandrel_profile", ["mandrel_id", "revision", "z_mm"]),
        ("targets", ["target_id"]),
        ("target_profile", ["target_id", "z_mm"]),
    ):
        whole[name] = whole[name].drop_duplicates(keys)
    kept = _first(whole, batches)
    if readings_a_bell is not None:
        more = round(readings_a_bell * len(kept["bells"])) - len(kept["measurements"])
        kept["measurements"] = _read_again(kept, more, rng)
    write_book(kept, folder)
    return folder


def _copy(tables: Mapping[str, pd.DataFrame], number: int, rng: np.random.Generator) -> Tables:
    """The tables with ids of copy `number`, its days, and fresh noise on every reading."""
    own, steel = f"-{number:02d}", f"-{number // COPIES_OF_A_MANDREL}"
    copy = {name: frame.copy() for name, frame in tables.items()}
    for frame in copy.values():
        for column, ending in (
            ("batch_id", own), ("bell_id", own), ("lot", own), ("mandrel_id", steel), ("target_id", steel),
        ):  # fmt: skip
            if column in frame:
                frame[column] = frame[column].where(frame[column].isna(), frame[column] + ending)
    days = pd.to_datetime(copy["batches"]["spun_on"]) + pd.Timedelta(days=number)
    copy["batches"]["spun_on"] = days.dt.strftime("%Y-%m-%d")
    copy["measurements"] = _noisy(copy["measurements"], copy["gauges"], rng)
    return copy


def _noisy(readings: pd.DataFrame, gauges: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    spread = readings["gauge_id"].map(gauges.set_index("gauge_id")["repeatability_mm"]).to_numpy(float)
    leaf = (readings["kind"] == "clearance").to_numpy()  # a feeler's leaf is chosen, not read
    noise = np.where(leaf, 0.0, spread) * rng.standard_normal(len(readings))
    return readings.assign(value_mm=readings["value_mm"] + noise)


def _first(tables: Tables, batches: int) -> Tables:
    """The first batches in order of the days, and what was measured of them."""
    kept = tables["batches"].sort_values("spun_on", kind="stable").head(batches)
    bells = tables["bells"][tables["bells"]["batch_id"].isin(kept["batch_id"])]
    readings = tables["measurements"][tables["measurements"]["bell_id"].isin(bells["bell_id"])]
    return {**tables, "batches": kept, "bells": bells, "measurements": readings}


def _read_again(tables: Tables, more: int, rng: np.random.Generator) -> pd.DataFrame:
    """The readings and `more` diameters of theirs taken once more at another angle."""
    readings = tables["measurements"]
    sizes = readings[(readings["kind"] == "outside_diameter") & (readings["angle_deg"] == 0.0)]
    again = _noisy(sizes.head(more).assign(angle_deg=READ_AGAIN), tables["gauges"], rng)
    return pd.concat([readings, again], ignore_index=True)
