"""Books written and read again, in any units and any formatting, are the same books."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from springfit.lengths import from_mm, parse_length
from springfit.records import Book, read_book
from tests.helpers.books.drawn_cases import drawn_cases
from tests.helpers.books.saved_books import save_book
from tests.helpers.books.small_book import sheets, text, write

TEN_THOUSANDTH_IN = 1e-4
FEW, MANY = 3, 12

# What a person can type into a note or a name: no control letters, nothing that only stands at an edge.
typed = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=20)
sizes = st.floats(20.0, 300.0).map(lambda mm: f"{mm:.4f}")


@st.composite
def books(draw: st.DrawFn) -> dict[str, list[list[str]]]:
    """The small book with other notes, names, order and readings."""
    book = sheets()
    note = book["bells.csv"][0].index("note")
    for row in book["bells.csv"][1:]:
        row[note] = draw(typed)
    name = draw(typed)
    for rows in book.values():
        rows[1:] = [["OAK" + name if cell == "OAK" else cell for cell in row] for row in rows[1:]]
    for row in draw(st.lists(st.sampled_from(book["measurements.csv"][1:]), max_size=9, unique_by=id)):
        row[5] = draw(st.sampled_from([row[5], f"{float(row[5]) * 1.001:.4f}"]))
    return book


def read_from(book: dict[str, list[list[str]]], folder: Path) -> Book:
    return read_book(write(folder, book))[0]


def same(one: Book, other: Book) -> bool:
    return one.digest == other.digest


@drawn_cases(books(), few=FEW, many=MANY)
def test_book_to_workbook_to_book(book: dict[str, list[list[str]]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        first = read_from(book, Path(place) / "book")
        save_book(first, Path(place) / "book.xlsx")
        again = read_book(Path(place) / "book.xlsx")[0]
        assert same(first, again)
        assert again.bells["note"].tolist() == first.bells["note"].tolist()


@drawn_cases(books(), few=FEW, many=MANY)
def test_mm_to_inch_to_mm(book: dict[str, list[list[str]]]) -> None:
    with tempfile.TemporaryDirectory() as place:
        first = read_from(book, Path(place) / "mm")
        save_book(first, Path(place) / "in", units="in")
        inches = read_book(Path(place) / "in")[0]
        save_book(inches, Path(place) / "back", units="mm")
        back = read_book(Path(place) / "back")[0]
        assert inches.units == "in" and same(first, inches) and same(first, back)


@drawn_cases(books(), st.randoms(use_true_random=False), st.sampled_from(["\n", "\r\n"]), few=FEW, many=MANY)
def test_the_digest_is_of_what_is_said_not_how(
    book: dict[str, list[list[str]]], chance: random.Random, line_end: str
) -> None:
    with tempfile.TemporaryDirectory() as place:
        first = read_from(book, Path(place) / "first")
        folder = Path(place) / "other"
        folder.mkdir()
        for name, rows in book.items():
            order = chance.sample(range(len(rows[0])), len(rows[0]))
            body = rows[1:]
            if "profile" not in name:
                chance.shuffle(body)
            other = [[row[place] for place in order] for row in [rows[0], *body]]
            (folder / name).write_bytes(text(other, line_end=line_end).encode("utf-8-sig"))
        assert same(first, read_book(folder)[0])


@drawn_cases(books(), st.data(), few=FEW, many=MANY)
def test_any_other_number_is_another_digest(book: dict[str, list[list[str]]], data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as place:
        first = read_from(book, Path(place) / "first")
        row = data.draw(st.sampled_from(book["measurements.csv"][1:]))
        row[5] = f"{float(row[5]) + 0.001:.4f}"
        assert not same(first, read_from(book, Path(place) / "other"))


@given(st.floats(0.0, 100.0).map(lambda inch: round(inch, 4)))
def test_inch_to_mm_to_inch(inch: float) -> None:
    mm = parse_length(f"{inch:.4f}", "in")
    typed_in_mm = parse_length(f"{mm:.4f}", "mm")
    assert abs(from_mm(typed_in_mm, "in") - inch) < TEN_THOUSANDTH_IN / 10
    assert from_mm(mm, "in") == pytest.approx(inch, abs=1e-12)


@given(
    st.integers(0, 40),
    st.sampled_from([2, 4, 8, 16, 32, 64, 128]),
    st.data(),
    st.sampled_from(["-", " ", " - "]),
)
def test_rule_fractions(whole: int, denominator: int, data: st.DataObject, join: str) -> None:
    numerator = data.draw(st.integers(1, denominator - 1))
    exact = (whole + numerator / denominator) * 25.4
    assert parse_length(f"{whole}{join}{numerator}/{denominator}", "in") == pytest.approx(exact, rel=1e-15)


@given(st.text(max_size=12), st.sampled_from(["mm", "in", "thou"]), st.booleans())
def test_any_text_is_a_finite_number_or_refused(cell: str, unit: str, comma: bool) -> None:
    try:
        value = parse_length(cell, unit, decimal_comma=comma)
    except ValueError as refused:
        assert str(refused)
    else:
        assert np.isfinite(value) and any(letter in "0123456789" for letter in cell)
