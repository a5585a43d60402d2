"""A cell dragged down a column of a profile is told by its rows; cylinders and close stations are not."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.demo.locate import demo_folder
from springfit.records import check_book, read_book
from springfit.records.checks.slips.profile_slips import dragged_rows
from tests.helpers.books.small_book import OAK, STATIONS, diameter, sheets, write

Z = np.array(STATIONS)
D = np.array([diameter(OAK, z) for z in STATIONS])


@pytest.mark.parametrize(("first", "count"), [(7, 3), (10, 6), (13, 4)])
def test_one_size_dragged_down(first: int, count: int) -> None:
    dragged = D.copy()
    dragged[first : first + count] = D[first]
    assert dragged_rows(Z, dragged) == [(first + 1, first + count - 1, "size")]


@pytest.mark.parametrize("first", [0, 3, 12])
@pytest.mark.parametrize("step", [1.0, 0.1])
def test_stations_dragged_as_a_series(first: int, step: float) -> None:
    dragged = Z.copy()
    dragged[first : first + 5] = Z[first] + step * np.arange(5)
    assert dragged_rows(dragged, D) == [(first + 1, first + 4, "station")]


def test_a_band_that_is_a_cylinder_is_none() -> None:
    """Behind it the shape goes on from its size."""
    band = D.copy()
    band[11:] = D[10] + (D[11:] - D[11]) + (D[11] - D[10])
    band[8:12] = D[8]
    band[12:] = D[8] + (D[12:] - D[11])
    assert not dragged_rows(Z, band)


def test_close_stations_are_none() -> None:
    close = np.concatenate((Z[:10], Z[9] + np.array([1.0, 2, 3, 4, 5]), Z[10:]))
    assert not dragged_rows(close, np.interp(close, Z, D))
    spread = np.concatenate((Z[:10], np.arange(181.0, 200.0, 1.0), Z[10:]))
    assert not dragged_rows(spread, np.interp(spread, Z, D))


def test_sound_profiles_are_none() -> None:
    book, _ = read_book(demo_folder() / "demo-shop")
    for mandrel, revision in zip(book.mandrels["mandrel_id"], book.mandrels["revision"].astype(int), strict=True):
        assert not dragged_rows(*book.profile(mandrel, revision))
    for target in book.targets["target_id"]:
        assert not dragged_rows(*book.target_profile_of(target))


@pytest.mark.parametrize(("column", "place"), [("diameter_mm", 2), ("z_mm", 1)])
def test_it_stops_the_correction_by_its_row(column: str, place: int, tmp_path) -> None:  # type: ignore[no-untyped-def]
    book = sheets()
    rows = book["target_profile.csv"]
    for n, row in enumerate(rows[11:16]):
        row[place] = rows[11][place] if column == "diameter_mm" else f"{200 + n}"
    stops = [f for f in check_book(write(tmp_path / "book", book)) if f.stops]
    assert [(f.row, f.column) for f in stops] == [(13, column)] and "to row 16" in stops[0].what
