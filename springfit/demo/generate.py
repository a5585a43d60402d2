"""Write the demo shop's books: `python -m springfit.demo.generate [--out DIR]`, DIR being `datasets` unless given."""

from __future__ import annotations

import argparse
from fractions import Fraction
from pathlib import Path

import numpy as np
import pandas as pd

from springfit.demo.keeping.book_sheets import in_units, write_book, write_table
from springfit.demo.old_shop import FAMILY, WORN, first_steel, linnet_line, old_shop_tables
from springfit.demo.shop import Shop
from springfit.demo.spinning.families import BellLine
from springfit.demo.spinning.true_steel import stations_along
from springfit.demo.story import INCH
from springfit.demo.three_years import demo_shop
from springfit.demo.truth import new_mandrels, planted, queries
from springfit.files import write_file
from springfit.records.editing.data_package import PACKAGE, package_bytes
from springfit.records.sheets.sources import read_sheets

__all__ = ["generate", "main"]

DRAFT = "STILT"  # of the mandrels never seen, the one the demo asks about


def generate(out: Path) -> tuple[Path, ...]:
    """Write `demo-shop`, `demo-old-shop`, `demo-shop-truth`, `draft_mandrel.csv` and `draft_conditions.csv` under
    `out`; the same bytes each time.
    """
    shop = demo_shop()
    _write_shop(shop, out / "demo-shop")
    _write_old_shop(out / "demo-old-shop")
    _write_truth(shop, out / "demo-shop-truth")
    _write_draft(out)
    return (
        out / "demo-shop",
        out / "demo-old-shop",
        out / "demo-shop-truth",
        out / "draft_mandrel.csv",
        out / "draft_conditions.csv",
    )


def _write_shop(shop: Shop, folder: Path) -> None:
    traced = {name: frame for name, frame in shop.tables.items() if "trace" in name}
    write_book(traced, folder, units="mm")
    write_book({name: frame for name, frame in shop.tables.items() if name not in traced}, folder, units="in")
    profile = in_units(shop.tables["mandrel_profile"], "in")
    by_rule = profile["mandrel_id"].isin(["WREN", "HERON"])  # read off a steel rule, so written as fractions
    at = profile["z_in"].tolist()
    profile["z_in"] = [_as_fraction(z) if rule else repr(z) for z, rule in zip(at, by_rule, strict=True)]
    write_table(profile, folder / "mandrel_profile.csv")
    write_file(folder / PACKAGE, package_bytes(read_sheets(folder)[0]))


def _write_old_shop(folder: Path) -> None:
    write_book(old_shop_tables(), folder, units="in")
    write_file(folder / PACKAGE, package_bytes(read_sheets(folder)[0]))


def _as_fraction(z: float) -> str:
    """Inches as on a rule when they are quarters, else as decimals."""
    if abs(4 * z - round(4 * z)) > 1e-9:
        return repr(z)
    whole, rest = divmod(Fraction(round(4 * z), 4), 1)
    return f"{whole}-{rest}" if rest and whole else f"{rest or whole}"


def _write_truth(shop: Shop, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    asked, profiles, conditions = queries(shop)
    frames = {"queries": asked, **planted(shop)}
    frames |= {f"profile_{name}": frame for name, frame in profiles.items()} | {
        f"conditions_{name}": frame for name, frame in conditions.items()
    }
    frames |= {f"original_{FAMILY}": _points(linnet_line()), f"first_{WORN}": _points(first_steel())}
    for name, frame in frames.items():
        write_table(frame, folder / f"{name}.csv")


def _points(line: BellLine) -> pd.DataFrame:
    """A line every 2 mm or closer, as the other truths are written."""
    z, r, _ = line.points_at(stations_along(line, step_mm=2.0))
    return pd.DataFrame({"z_mm": z.round(4) + 0.0, "diameter_mm": (2.0 * r).round(4)})


def _write_draft(out: Path) -> None:
    line, habit = new_mandrels()[DRAFT]
    z, r, _ = line.points_at(stations_along(line, step_mm=INCH / 4))
    profile = pd.DataFrame({"z_in": np.round(z / INCH, 4) + 0.0, "diameter_in": np.round(2.0 * r / INCH, 4)})
    write_table(profile, out / "draft_mandrel.csv")
    usual = {
        "alloy": habit.alloy,
        "temper": "OS035",
        "wall_in": 0.02,
        "anneal": "full",
        "draw_end_in": habit.draw_end_mm / INCH,
        "draw_ring": "nylon",
        "passes": 3,
        "back_passes": 0,
        "hump": "good",
        "tool_nose_in": 0.375,
        "spinner": "Ansel",
        "blank_rim_in": habit.blank_rim_mm / INCH,
        "finished_rim_in": habit.finished_rim_mm / INCH,
    }
    rows = [
        {"name": "usual", **usual},
        {"name": "red brass", **usual, "alloy": "C23000"},
        {"name": "half hard", **usual, "temper": "H02", "anneal": "none", "hump": None},
    ]
    write_table(pd.DataFrame(rows).round(3), out / "draft_conditions.csv")


def main(arguments: list[str] | None = None) -> int:
    """Command line of the generator."""
    parser = argparse.ArgumentParser(description="Write the invented shop of the demo.")
    parser.add_argument("--out", type=Path, default=Path("datasets"))
    for path in generate(parser.parse_args(arguments).out):
        print(path)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
