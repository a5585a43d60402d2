"""From rows in mm to a record book's files: units in the column names, rounded as a person writes them."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from springfit.files import write_file

__all__ = ["added", "in_units", "table", "write_book", "write_table"]

MM_PER_INCH = 25.4
DECIMALS = {  # of a number written in (mm, in)
    "z": (2, 3),
    "profile_z": (4, 5),  # past 45 degrees a profile's z carries its accuracy
    "value": (4, 4),
    "diameter": (4, 5),
    "wall": (3, 4),
    "draw_end": (1, 3),
    "tool_nose": (2, 3),
    "blank_rim": (2, 3),
    "finished_rim": (2, 3),
    "witness_z": (2, 3),
    "tolerance": (3, 4),
    "slide": (2, 3),
    "repeatability": (4, 6),
    "station": (4, 5),
    "ball_radius": (3, 5),
}


def table(rows: list[dict], columns: tuple[str, ...]) -> pd.DataFrame:
    """A frame of `columns` in order; whole numbers that may be blank stay whole."""
    frame = pd.DataFrame([{name: row.get(name) for name in columns} for row in rows], columns=list(columns))
    for name in ("passes", "back_passes", "spindle_rpm", "order_in_batch", "revision"):
        if name in frame:
            frame[name] = frame[name].astype("Int64")
    return frame


def in_units(frame: pd.DataFrame, units: str) -> pd.DataFrame:
    """The frame with every `_mm` column in `units` ("mm" or "in"), rounded to what is written by hand."""
    out = {}
    for name in frame.columns:
        column = frame[name]
        if not name.endswith("_mm"):
            out[name] = column
            continue
        quantity = name.removesuffix("_mm")
        kind = "profile_z" if quantity == "z" and "diameter_mm" in frame else quantity
        places = DECIMALS[kind][1 if units == "in" else 0]
        numbers = pd.to_numeric(column) / (MM_PER_INCH if units == "in" else 1.0)
        out[f"{quantity}_{units}"] = numbers.round(places) + 0.0  # no minus nought
    return pd.DataFrame(out)


def write_book(tables: dict[str, pd.DataFrame], folder: Path, *, units: str = "mm") -> None:
    """Write each table as CSV, its `_mm` columns in `units`; a name may carry a dash and more."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, frame in sorted(tables.items()):
        write_table(in_units(frame, units), folder / f"{name}.csv")


def write_table(frame: pd.DataFrame, path: Path) -> None:
    """Write one table as CSV."""
    write_file(path, frame.to_csv(index=False, lineterminator="\n").encode())


def added(tables: dict[str, pd.DataFrame], rows: dict[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """The tables with new rows of some of them at the end."""
    return {
        name: pd.concat([frame, rows[name]], ignore_index=True) if name in rows else frame
        for name, frame in tables.items()
    }
