"""A model of the present format, kept with what it forecast, so that a later program can be held to it.

    python -m tests.helpers.programs.kept_model

writes `tests/data/model_format_N`: the small book as `springfit train` learns it, and `forecast.csv`, what that model
says of a new batch like the book's last. The numbers are this program's own, no outside truth. Run it only after the
format was raised; the folder of an older format stays as long as that format is read.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import pandas as pd

from springfit.decisions.forecast import forecast
from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.learning.model import SpringModel
from springfit.learning.versions.model_file import FORMAT
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import train
from springfit.records.book import Book
from springfit.records.reading import read_book
from tests.helpers.books.small_book import sheets, write
from tests.helpers.repository import DATA

NAMED = "model_format_"  # a folder a format


def small_book() -> Book:
    """The small book, read."""
    with tempfile.TemporaryDirectory() as folder:
        return read_book(write(Path(folder) / "book", sheets()))[0]


def said_by(model: SpringModel) -> pd.DataFrame:
    """Gap and the standard deviations of its bands [mm] over the second revision of OAK, spun as its last batch was."""
    book = small_book()
    told = forecast(model, steel_meridian(book, "OAK", 1), book.conditions("B3"))
    columns = {"s_mm": told.meridian.s, "gap_mm": told.gap, "mean_sd_mm": told.mean_sd, "bell_sd_mm": told.bell_sd}
    return pd.DataFrame(columns)


def keep() -> Path:
    """Write the folder of the present format; OSError where it is there already."""
    folder = DATA / f"{NAMED}{FORMAT}"
    train(small_book(), [], ModelStore(folder))
    said_by(ModelStore(folder).load()).round(7).to_csv(folder / "forecast.csv", index=False)
    return folder


if __name__ == "__main__":
    print(keep())
