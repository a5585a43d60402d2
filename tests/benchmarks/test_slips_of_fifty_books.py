"""Three slips planted in each of fifty books: how many are named by row, and how many sound readings besides."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from springfit.demo.locate import demo_folder
from springfit.records import read_book
from tests.helpers.slips.planted_slips import with_three_slips

BOOKS = int(os.environ.get("SPRINGFIT_BOOKS", "50"))
NAMED, FALSE = 0.95, 1 / 2000


@pytest.mark.benchmark
def test_slips_are_named_by_row(tmp_path: Path, shared: Path) -> None:
    shops = [demo_folder() / "demo-shop", *(shared / f"sample-shop{kind}" for kind in ("", "-inch", "-laid"))]
    named, planted_of, false, sound = {}, {}, 0, 0
    for number in range(BOOKS):
        folder = tmp_path / f"book-{number}"
        planted = with_three_slips(shops[number % len(shops)], folder, np.random.default_rng(number))
        book, findings = read_book(folder)
        said = {(f.file, f.row) for f in findings if f.sets_row_aside}
        for place, what in planted.items():
            planted_of[what] = planted_of.get(what, 0) + 1
            named[what] = named.get(what, 0) + (place in said)
        false += len(said - set(planted))
        sound += len(book.measurements) + len(book.mandrel_profile) - len(planted)
        print(number, named, planted_of, f"{false} of {sound} sound rows named", flush=True)
    assert sum(named.values()) >= NAMED * sum(planted_of.values())
    assert false <= FALSE * sound
