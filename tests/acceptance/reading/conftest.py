"""The small book, read: what every other way of keeping it is held to."""

from __future__ import annotations

import pytest

from springfit.records import read_book
from springfit.records.book import Book
from tests.helpers.books.small_book import sheets, write


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return read_book(write(tmp_path_factory.mktemp("sound") / "book", sheets()))[0]
