"""The book's `datapackage.json`, read by an independent reader of the standard: frictionless."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from frictionless import Package

from springfit.demo.locate import demo_folder
from springfit.records import add_sheets, new_book
from springfit.records.editing.data_package import PACKAGE, package_bytes
from springfit.records.sheets.sources import read_sheets
from springfit.records.tables import REFERENCES, TABLES
from tests.helpers.books.small_book import Sheets, change, sheets, write


def described(folder: Path) -> Path:
    """The book with its description made anew."""
    (folder / PACKAGE).write_bytes(package_bytes(read_sheets(folder)[0]))
    return folder


def errors(folder: Path) -> list[tuple[str, str]]:
    """(file, kind of error) of everything that the independent reader finds."""
    report = Package(str(folder / PACKAGE)).validate()
    assert not report.errors, report.errors
    return [(Path(task.place).name, error.type) for task in report.tasks for error in task.errors]


def test_the_demo_book_is_valid(tmp_path: Path) -> None:
    kept = demo_folder() / "demo-shop"
    book = shutil.copytree(kept, tmp_path / "book")
    assert errors(book) == [], "as committed"
    assert described(book).joinpath(PACKAGE).read_bytes() == (kept / PACKAGE).read_bytes(), "generate it again"
    package = Package(str(book / PACKAGE))
    assert {Path(resource.path).name for resource in package.resources} == {p.name for p in book.glob("*.csv")}
    assert sum(len(resource.read_rows()) for resource in package.resources) > 14_000


@pytest.mark.parametrize("units", ["mm", "in"])
def test_an_empty_book_says_what_it_may_hold(units: str, tmp_path: Path) -> None:
    book = new_book(tmp_path / "book", units="in" if units == "in" else "mm")
    assert errors(book) == []
    told = {one["name"]: one["schema"] for one in json.loads((book / PACKAGE).read_text("utf-8"))["resources"]}
    assert set(told) == set(TABLES)
    for name, table in TABLES.items():
        fields = told[name]["fields"]
        lengths = [field for field in fields if field["name"].endswith(f"_{units}")]
        assert len(lengths) == sum(column.kind == "length" for column in table.columns)
        assert {field["type"] for field in lengths} <= {"string" if units == "in" else "number"}
        assert all("pattern" in field["constraints"] for field in lengths if units == "in")
        assert len(told[name].get("primaryKey", [])) == len(table.key)
    assert sum(len(schema.get("foreignKeys", [])) for schema in told.values()) == len(REFERENCES)


BROKEN: dict[str, tuple[str, str, Callable[[Sheets], object]]] = {
    "a bell of no batch": (
        "bells.csv", "foreign-key",
        lambda book: change(book["bells.csv"], "batch_id", lambda _: "B9", where={"bell_id": "B3-1"}),
    ),
    "a profile of no revision": (
        "mandrel_profile.csv", "foreign-key",
        lambda book: change(book["mandrel_profile.csv"], "revision", lambda _: "7", where={"mandrel_id": "ASH"}),
    ),
    "a batch twice": (
        "batches.csv", "primary-key", lambda book: book["batches.csv"].append(list(book["batches.csv"][1])),
    ),
    "a blank that must be filled": (
        "batches.csv", "constraint-error", lambda book: change(book["batches.csv"], "alloy", lambda _: ""),
    ),
    "a word that is no choice": (
        "measurements.csv", "constraint-error",
        lambda book: change(book["measurements.csv"], "datum", lambda _: "top"),
    ),
    "a length that is none": (
        "batches.csv", "type-error", lambda book: change(book["batches.csv"], "wall_mm", lambda _: "thin"),
    ),
    "a length that cannot be": (
        "batches.csv", "constraint-error", lambda book: change(book["batches.csv"], "wall_mm", lambda _: "50"),
    ),
    "a day of another order": (
        "batches.csv", "type-error", lambda book: change(book["batches.csv"], "spun_on", lambda _: "1.3.2025"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_book_is_found_invalid(name: str, tmp_path: Path) -> None:
    file, said, spoil = BROKEN[name]
    book = sheets()
    assert errors(described(write(tmp_path / "sound", book))) == []
    spoil(book)
    assert (file, said) in errors(described(write(tmp_path / "book", book)))


@pytest.mark.parametrize(
    ("cell", "valid"),
    [("2-3/8", True), ("2 3/8", True), ("0.020", True), ('3/8"', True), ("1/7", False), ("2,5", False)],
)
def test_fractions_of_an_inch_are_patterned_texts(cell: str, valid: bool, tmp_path: Path) -> None:
    book = sheets()
    rows = book["batches.csv"]
    rows[0][rows[0].index("tool_nose_mm")] = "tool_nose_in"
    change(rows, "tool_nose_in", lambda _: cell)
    found = errors(described(write(tmp_path / "book", book)))
    assert found == ([] if valid else [("batches.csv", "constraint-error")] * 3)


def test_an_addition_that_makes_a_new_file_describes_it(tmp_path: Path) -> None:
    """A session in other units gets a file of its own; the description then has a resource more."""
    book = new_book(tmp_path / "book", units="mm")
    add_sheets(book, write(tmp_path / "first", sheets()))
    assert errors(book) == []
    before = {resource.path for resource in Package(str(book / PACKAGE)).resources}
    added = {
        "measurements.csv": [
            ["bell_id", "stage", "kind", "datum", "z_in", "value_in", "angle_deg", "gauge_id"],
            ["B1-1", "trimmed", "wall", "tail", "6-1/2", "0.0195", "", "MIC"],
        ]
    }
    done = add_sheets(book, write(tmp_path / "second", added))
    after = {resource.path for resource in Package(str(book / PACKAGE)).resources}
    assert after - before == {"measurements-02.csv"} and PACKAGE in done.files
    assert errors(book) == []
