"""Whatever bytes stand in a book, checking it ends in findings, never in a traceback, a hang or a guess."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

from hypothesis import strategies as st

from springfit.findings import BookError
from springfit.records import check_book, read_book, read_conditions, read_profile
from tests.helpers.books.drawn_cases import drawn_cases
from tests.helpers.books.small_book import sheets, text, write

FEW, MANY = 6, 15
cells = st.one_of(
    st.text(max_size=8), st.sampled_from(["", "0", "-1", "1e9", "2025-01-01", "=1", '"', "\x00", "OAK"])
)
names = st.sampled_from(sorted(sheets()))


@cache
def whole_digest() -> str:
    """That of the sound book."""
    with tempfile.TemporaryDirectory() as place:
        return read_book(write(Path(place) / "whole", sheets()))[0].digest


@drawn_cases(names, st.binary(max_size=300), few=FEW, many=MANY)
def test_any_bytes_for_a_table(name: str, data: bytes) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = write(Path(place) / "book", sheets())
        (folder / name).write_bytes(data)
        assert all(finding.line() for finding in check_book(folder))


@drawn_cases(names, st.data(), few=FEW, many=MANY)
def test_any_text_in_any_cell(name: str, data: st.DataObject) -> None:
    book = sheets()
    row = data.draw(st.sampled_from(book[name][1:]))
    row[data.draw(st.integers(0, len(row) - 1))] = data.draw(cells)
    with tempfile.TemporaryDirectory() as place:
        assert all(finding.line() for finding in check_book(write(Path(place) / "book", book)))


@drawn_cases(names, st.data(), few=FEW, many=MANY)
def test_a_row_or_column_lost_is_found_or_changes_the_digest(name: str, data: st.DataObject) -> None:
    book = sheets()
    rows = book[name]
    with tempfile.TemporaryDirectory() as place:
        if data.draw(st.booleans()):
            del rows[data.draw(st.integers(1, len(rows) - 1))]
        else:
            column = data.draw(st.integers(0, len(rows[0]) - 1))
            if not any(row[column] for row in rows[1:]):
                return  # a blank column says nothing
            for row in rows:
                del row[column]
        try:
            lost = read_book(write(Path(place) / "lost", book))[0]
        except BookError as refused:
            assert refused.findings
        else:
            assert lost.digest != whole_digest()


@drawn_cases(
    st.one_of(
        st.binary(max_size=200),
        st.lists(st.lists(cells, max_size=4), max_size=9).map(lambda r: text(r).encode()),
    ),
    few=MANY, many=4 * MANY,
)  # fmt: skip
def test_any_bytes_for_a_conditions_file_and_a_profile(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "any.csv"
        path.write_bytes(data)
        for read in (read_conditions, read_profile):
            try:
                read(path)
            except BookError as refused:
                assert refused.findings
