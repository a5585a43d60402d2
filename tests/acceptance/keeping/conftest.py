"""A book that lacks a batch, and the sheets of that batch, for the tests that add them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.books.books_to_add import batch_b3
from tests.helpers.books.small_book import write


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write(tmp_path / "book", batch_b3()[0])


@pytest.fixture
def typed(tmp_path: Path) -> Path:
    return write(tmp_path / "typed", batch_b3()[1])
