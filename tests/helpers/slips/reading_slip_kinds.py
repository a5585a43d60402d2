"""Kinds of slips in bells and readings, each planted into a `Book` that was read.

A plant gives the spoilt book and the names (of a bell, batch or gauge) one of which a doubt has to be about.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from springfit.records.book import Book

Plant = Callable[[Book, np.random.Generator], tuple[Book, set[str]]]
SHEET = ["bell_id", "stage", "kind", "datum"]


def sheet_of(book: Book, kind: str, rng: np.random.Generator, datum: str | None = None, fewest: int = 8) -> pd.Index:
    """The rows of one sheet of that kind, drawn among those of enough readings."""
    rows = book.measurements[book.measurements["kind"] == kind]
    if datum is not None:
        rows = rows[rows["datum"] == datum]
    sizes = rows.groupby(SHEET)["z_mm"].transform("size")
    rows = rows[sizes >= fewest]
    if not len(rows):
        raise LookupError(f"no sheet of {kind}")
    keys = rows[SHEET].drop_duplicates()
    key = keys.iloc[int(rng.integers(len(keys)))]
    return rows.index[(rows[SHEET] == key).all(axis=1)]


def _changed(book: Book, rows: pd.Index, **columns: object) -> tuple[Book, set[str]]:
    frame = book.measurements.copy()
    for name, values in columns.items():
        frame.loc[rows, name] = values
    return replace(book, measurements=frame), set(frame.loc[rows, "bell_id"])


def scaled(kind: str, by: float, share: slice = slice(None), column: str = "value_mm") -> Plant:
    """Some of the readings of one sheet times `by`, of a sheet that this changes."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        rows = sheet_of(book, kind, rng, fewest=4)[share]
        while not book.measurements.loc[rows, column].any():  # a bell that is tight everywhere: nought in any unit
            rows = sheet_of(book, kind, rng, fewest=4)[share]
        return _changed(book, rows, **{column: book.measurements.loc[rows, column] * by})

    return plant


def _half(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
    rows = sheet_of(book, "outside_diameter", rng)
    rows = rows[len(rows) // 2 :]
    return _changed(book, rows, value_mm=book.measurements.loc[rows, "value_mm"] / 2)


def _third(by: float) -> Plant:
    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        rows = sheet_of(book, "outside_diameter", rng)[::3]
        return _changed(book, rows, value_mm=book.measurements.loc[rows, "value_mm"] * by)

    return plant


def _from_rim(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
    rows = sheet_of(book, "clearance", rng, fewest=4)
    bell = book.measurements.loc[rows[0], "bell_id"]
    batch = book.bells.loc[book.bells["bell_id"] == bell, "batch_id"].iloc[0]
    how = book.batches[book.batches["batch_id"] == batch].iloc[0]
    last = book.profile(how["mandrel_id"], int(how["revision"]))[0][-1]
    return _changed(book, rows, z_mm=last - book.measurements.loc[rows, "z_mm"])


def one_off(size: float) -> Plant:
    """One diameter off by `size` [mm]."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        rows = sheet_of(book, "outside_diameter", rng)
        row = rows[[int(rng.integers(1, len(rows) - 1))]]
        return _changed(book, row, value_mm=book.measurements.loc[row, "value_mm"] + size * rng.choice([-1, 1]))

    return plant


def batch_off(size: float) -> Plant:
    """The diameter nearest one station off by `size` [mm] on every bell of a batch."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        rows = sheet_of(book, "outside_diameter", rng)
        z = float(book.measurements.loc[rows[len(rows) // 2], "z_mm"])
        bell = book.measurements.loc[rows[0], "bell_id"]
        batch = book.bells.loc[book.bells["bell_id"] == bell, "batch_id"].iloc[0]
        bells = book.bells.loc[book.bells["batch_id"] == batch, "bell_id"]
        all_of = book.measurements
        near = all_of[
            all_of["bell_id"].isin(bells) & (all_of["kind"] == "outside_diameter") & ((all_of["z_mm"] - z).abs() < 0.5)
        ].index
        return _changed(book, near, value_mm=all_of.loc[near, "value_mm"] + size)

    return plant


def _neighbours_station(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
    rows = sheet_of(book, "outside_diameter", rng)
    values = book.measurements.loc[rows, "value_mm"].to_numpy()
    n = int(rng.integers(len(rows) // 2, len(rows) - 1))
    m = next((m for m in range(n + 1, len(rows)) if abs(values[m] - values[n]) > 1.0), None)
    if m is None:
        raise LookupError("no steep part")
    return _changed(book, rows[[n]], value_mm=values[m])


def copied(how: str) -> Plant:
    """A bell's sheet typed from another's: its rows in another order, half of them, or one value changed."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        frame = book.measurements
        sizes = frame[frame["kind"] == "outside_diameter"].groupby(SHEET).size()
        keys = [key for key in sizes.index if sizes[key] >= 12]
        rng.shuffle(keys)
        for n, key in enumerate(keys):
            other = next((k for k in keys[n + 1 :] if k[1:] == key[1:] and sizes[k] == sizes[key]), None)
            if other is None:
                continue
            one, two = (frame.index[(frame[SHEET] == list(k)).all(axis=1)] for k in (key, other))
            order = one[::-1] if how == "reordered" else one
            count = len(two) // 2 if how == "half" else len(two)
            columns = {name: frame.loc[order, name].to_numpy()[:count] for name in ("z_mm", "value_mm", "angle_deg")}
            if how == "one changed":
                columns["value_mm"] = columns["value_mm"].copy()
                columns["value_mm"][count // 2] += 0.05
            return _changed(book, two[:count], **columns)
        raise LookupError("no two sheets alike")

    return plant


def _spun_as_trimmed(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
    frame = book.measurements
    spun = frame[(frame["stage"] == "spun") & (frame["kind"] == "outside_diameter")]
    bells = list(spun["bell_id"].unique())
    if not bells:
        raise LookupError("nothing spun")
    bell = bells[int(rng.integers(len(bells)))]
    rows = spun[spun["bell_id"] == bell].assign(stage="trimmed")
    kept = frame[~((frame["bell_id"] == bell) & (frame["stage"] == "trimmed") & (frame["kind"] == "outside_diameter"))]
    return replace(book, measurements=pd.concat([kept, rows], ignore_index=True)), {bell}


def witness(change: Callable[[float], float]) -> Plant:
    """A bell's witness line changed, of those that have readings from it."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        used = set(book.measurements.loc[book.measurements["datum"] == "witness", "bell_id"])
        rows = book.bells.index[book.bells["bell_id"].isin(used)]
        if not len(rows):
            raise LookupError("no witness line")
        bells, row = book.bells.copy(), rows[int(rng.integers(len(rows)))]
        bells.loc[row, "witness_z_mm"] = change(float(bells.loc[row, "witness_z_mm"]))
        return replace(book, bells=bells), {str(bells.loc[row, "bell_id"])}

    return plant


def _five_along(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
    rows = sheet_of(book, "outside_diameter", rng)
    while book.measurements.loc[rows[0], "datum"] == "free":  # it has no place along the axis to be off from
        rows = sheet_of(book, "outside_diameter", rng)
    shift = -5.0 if book.measurements.loc[rows, "z_mm"].min() > 5 else 5.0
    return _changed(book, rows, z_mm=book.measurements.loc[rows, "z_mm"] + shift)


def _ring_twice(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
    rows = sheet_of(book, "outside_diameter", rng)
    row = rows[[int(rng.integers(len(rows)))]]
    again = book.measurements.loc[row].assign(value_mm=lambda f: f["value_mm"] + 0.8)
    frame = pd.concat([book.measurements, again], ignore_index=True)
    return replace(book, measurements=frame), set(again["bell_id"])


READING_KINDS: dict[str, Plant] = {
    "radii in half the rows": _half,
    "a third of the rows in inches": _third(1 / 25.4),
    "a third of the rows in mm, of an inch sheet": _third(25.4),
    "clearances in inches": scaled("clearance", 1 / 25.4),
    "clearances in mm, of an inch sheet": scaled("clearance", 25.4),
    "clearances across both sides": scaled("clearance", 2.0),
    "clearances with z from the rim": _from_rim,
    "walls doubled": scaled("wall", 2.0),
    "a value at its neighbour's station": _neighbours_station,
    "a bell copied, in another order": copied("reordered"),
    "half a bell copied": copied("half"),
    "a bell copied, one value changed": copied("one changed"),
    "spun readings as trimmed": _spun_as_trimmed,
    "0.3 mm on one row": one_off(0.3),
    "1 mm on one row": one_off(1.0),
    "3 mm on one row": one_off(3.0),
    "0.3 mm on all bells of a batch": batch_off(0.3),
    "1 mm on all bells of a batch": batch_off(1.0),
    "3 mm on all bells of a batch": batch_off(3.0),
    "witness line in inches": witness(lambda z: z / 25.4),
    "witness line off the steel": witness(lambda z: z + 400),
    "witness line 10 mm off": witness(lambda z: z - 10),
    "a bell 5 mm off along the axis": _five_along,
    "one ring twice, 0.8 mm apart": _ring_twice,
}
