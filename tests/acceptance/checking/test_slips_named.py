"""One wrong reading or one wrong size is named by its row, and nothing else is set aside for it."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from springfit.demo.locate import demo_folder
from springfit.findings import BookError
from springfit.records import read_book
from springfit.records.accepted import accept
from springfit.records.answers import require_answered
from springfit.records.checks.catalogue import doubts
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps, slopes_at_stations
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.checks.slips.reading_slips import reading_slips
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from tests.helpers.books.small_book import OAK, WALL, Sheets, diameter, sheets, write
from tests.helpers.books.spoilers import M, P
from tests.helpers.slips.planted_slips import with_three_slips

T = "target_profile.csv"


def test_three_slips_in_the_demo_shop_are_named_and_nothing_else(tmp_path: Path) -> None:
    """The slips of one seed whose places are not on the steepest part of a flare, where a reading cannot show them."""
    planted = with_three_slips(demo_folder() / "demo-shop", tmp_path / "book", np.random.default_rng(3))
    findings = read_book(tmp_path / "book")[1]
    named = {(f.file, f.row) for f in findings if f.sets_row_aside}
    assert named == set(planted)


def test_a_slip_at_a_flat_rim_is_named_by_the_other_reading_of_its_ring(tmp_path: Path) -> None:
    """60 thou on a diameter where the steel lies at 75 degrees: two tenths of a mm off it, as sound bells are there."""
    planted = with_three_slips(demo_folder() / "demo-shop", tmp_path / "book", np.random.default_rng(16))
    odd = [finding for finding in read_book(tmp_path / "book")[1] if finding.sets_row_aside]
    assert set(planted) <= {(f.file, f.row) for f in odd}
    at_the_rim = next(place for place, what in planted.items() if what == "outside_diameter")
    assert ["on the same ring" in f.what for f in odd if (f.file, f.row) == at_the_rim] == [True]


def test_a_wrong_size_of_the_steel_names_no_reading_beside_it() -> None:
    """A tenth of an inch on one size moves the steel under every bell there."""
    book = read_book(demo_folder() / "demo-shop")[0]
    sizes = book.mandrel_profile
    for row in (244, 248, 604):
        spoilt = sizes.assign(diameter_mm=sizes["diameter_mm"] - 2.54 * (sizes["source_row"] == row + 1))
        said = [f for f in doubts(replace(book, mandrel_profile=spoilt)) if f.sets_row_aside]
        assert (P, row + 1) in {(f.file, f.row) for f in said}
        assert [f for f in said if f.file == M] == []


def test_three_tenths_on_a_steep_flare_are_named_by_the_rings_beside() -> None:
    """0.3 mm on one of two diameters where the steel lies at 60 degrees and more: less than its station is set to."""
    book = read_book(demo_folder() / "demo-shop")[0]
    rows = book.measurements
    of = mandrel_profiles(book)
    read = rough_gaps(book, of)
    steep = read[np.degrees(slopes_at_stations(read, list(of.values()))) > 60]
    ring = ["bell_id", "stage", "kind", "datum", "gauge_id", "z_mm"]
    pairs = steep[(steep["kind"] == "outside_diameter") & steep.duplicated(ring, keep=False) & ~steep["fitted"]]
    tried = pairs.index[:: len(pairs) // 10]
    before = {f.row for f in reading_slips(book, read, of)}
    named = 0
    for row in tried:
        spoilt = rows.assign(value_mm=rows["value_mm"] + 0.3 * (rows.index == row))
        other = replace(book, measurements=spoilt)
        said = {f.row for f in reading_slips(other, rough_gaps(other, of), of)} - before
        at_the_ring = set(rows.loc[(rows[ring] == rows.loc[row, ring]).all(axis=1), "source_row"])
        assert said <= at_the_ring
        named += rows.loc[row, "source_row"] in said
    assert named >= 0.8 * len(tried)


def test_one_slip_sets_only_its_reading_aside_and_says_what_it_may_have_been(tmp_path: Path) -> None:
    book = sheets()
    typed = book[M][20][5]
    book[M][20][5] = f"{float(typed) + 4:.3f}"
    read, findings = read_book(write(tmp_path / "book", book))
    odd = [finding for finding in findings if finding.sets_row_aside]
    assert [(f.file, f.row, f.column, f.subject) for f in odd] == [(M, 21, "value_mm", "B1-1")]
    assert not any(finding.sets_aside for finding in findings)
    left = without_doubted_rows(read, findings).measurements
    assert len(left) == len(read.measurements) - 1 and not (left["source_row"] == 21).any()


@pytest.mark.parametrize(
    ("cell", "expected", "meant"),
    [("23.328", 19.33, "19.328"), ("13.92", 19.32, "19.32"), ("91.32", 19.3, "19.32"), ("23.328", 51.0, "")],
)
def test_one_figure_mistyped_or_two_swapped(cell: str, expected: float, meant: str) -> None:
    if cell == "23.328":  # two figures wrong: no single one explains it
        meant = ""
    assert likely_typed(cell, expected, 0.05) == ("19.32" if cell == "13.92" and meant else meant)


def each(new: Callable[[float, float], float]) -> Callable[[Sheets], None]:
    """A target whose diameters are `new(z, diameter)`."""

    def spoil(book: Sheets) -> None:
        for row in book[T][1:]:
            row[2] = f"{new(float(row[1]), float(row[2])):.4f}"

    return spoil


def from_the_rim(book: Sheets) -> None:
    rows = [[name, f"{400 - float(z):g}", size] for name, z, size in reversed(book[T][1:])]
    book[T][1:] = rows


def a_row_low(book: Sheets) -> None:
    sizes = [row[2] for row in book[T][1:]]
    for row, size in zip(book[T][2:], sizes, strict=False):
        row[2] = size


def of_ash(book: Sheets) -> None:
    ash = {row[2]: row[3] for row in book[P] if row[0] == "ASH"}
    for row in book[T][1:]:
        row[2] = ash[row[1]]


TARGETS: dict[str, tuple[Callable[[Sheets], None], str]] = {
    "radii for diameters": (each(lambda z, d: d / 2), "radii were typed for diameters"),
    "radii in half the rows": (each(lambda z, d: d / 2 if z < 210 else d), "radii"),
    "z from the rim": (from_the_rim, "z was counted from the rim"),
    "outside sizes": (each(lambda z, d: d + 2 * WALL), "the outside was measured"),
    "a row too low": (a_row_low, "a row too low"),
    "another mandrel's shape": (of_ash, "it fits mandrel 'ASH'"),
    "5 mm off along the axis, a steep flare": (each(lambda z, d: d + 5 * d / 60), "steel"),
}


@pytest.mark.parametrize("name", TARGETS)
def test_a_target_that_can_hardly_be_meant_stops_the_correction(name: str, tmp_path: Path) -> None:
    spoil, reason = TARGETS[name]
    book = sheets()
    spoil(book)
    folder = write(tmp_path / "book", book)
    read, findings = read_book(folder)
    assert any(f.stops and f.subject == "OAK-T" and reason in f.what for f in findings), findings
    with pytest.raises(BookError):
        require_answered(folder, read, findings, "OAK-T")


def test_an_accepted_doubt_no_longer_stops_until_the_sizes_change(tmp_path: Path) -> None:
    book = sheets()
    book[T][12][2] = f"{diameter(OAK, 220) + 1:.4f}"
    folder = write(tmp_path / "book", book)
    read, findings = read_book(folder)
    assert [(f.file, f.row) for f in findings if f.stops] == [(T, 13)] or [
        f.row for f in findings if f.stops
    ] == [12]
    assert accept(folder, findings, "OAK-T", today=datetime.date(2026, 1, 2)) == 1
    require_answered(folder, read, findings, "OAK-T")
    book[T][12][2] = f"{diameter(OAK, 220) + 2:.4f}"
    (folder / T).write_text("\n".join(",".join(row) for row in book[T]))
    read, findings = read_book(folder)
    with pytest.raises(BookError):
        require_answered(folder, read, findings, "OAK-T")


@pytest.mark.parametrize("size", [0.4, 1.0, -2.54])
@pytest.mark.parametrize("revision", ["0", "1"])
def test_a_slip_of_one_size_of_a_mandrel(size: float, revision: str, tmp_path: Path) -> None:
    book = sheets()
    row = next(n for n, r in enumerate(book[P]) if r[:3] == ["OAK", revision, "240"])
    book[P][row][3] = f"{float(book[P][row][3]) + size:.4f}"
    read, findings = read_book(write(tmp_path / "book", book))
    odd = [(f.file, f.row) for f in findings if f.stops]
    assert (P, row + 1) in odd
    assert not any(f.sets_aside for f in findings)
    with pytest.raises(BookError):
        require_answered(tmp_path / "book", read, findings, "OAK-T")
