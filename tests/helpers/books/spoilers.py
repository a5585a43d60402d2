"""Ways to spoil the sheets of the small book, by cell or by byte."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.helpers.books.small_book import Sheets, sheets, write

Spoil = Callable[[Sheets], None]
Rewrite = Callable[[Path], None]

M, B, P = "measurements.csv", "batches.csv", "mandrel_profile.csv"


def nothing(_: object) -> None:
    """Leaves the sheets as they are."""


def spoiled(folder: Path, spoil: Spoil, then: Rewrite) -> Path:
    """The small book written into a folder, its rows spoiled before and its files after."""
    book = sheets()
    spoil(book)
    then(write(folder, book))
    return folder


def rewrite(name: str, new: Callable[[bytes], bytes]) -> Rewrite:
    def apply(folder: Path) -> None:
        (folder / name).write_bytes(new((folder / name).read_bytes()))

    return apply


def rewrite_all(new: Callable[[bytes], bytes]) -> Rewrite:
    def apply(folder: Path) -> None:
        for path in folder.glob("*.csv"):
            path.write_bytes(new(path.read_bytes()))

    return apply


def cell(file: str, row: int, column: str, new: str) -> Spoil:
    """Puts `new` into the cell at line `row`."""

    def spoil(book: Sheets) -> None:
        rows = book[file]
        rows[row - 1][rows[0].index(column)] = new

    return spoil


def header(file: str, old: str, new: str) -> Spoil:
    def spoil(book: Sheets) -> None:
        rows = book[file]
        rows[0][rows[0].index(old)] = new

    return spoil


def second_column(file: str, name: str, value: str) -> Spoil:
    def spoil(book: Sheets) -> None:
        for row in book[file]:
            row.append(name if row is book[file][0] else value)

    return spoil


def without(file: str) -> Spoil:
    return lambda book: book.pop(file) and None


def without_column(file: str, name: str) -> Spoil:
    def spoil(book: Sheets) -> None:
        place = book[file][0].index(name)
        for row in book[file]:
            del row[place]

    return spoil


def more(file: str, *row: str) -> Spoil:
    return lambda book: book[file].append(list(row))
