"""The shop's record book: tables as typed in, one checked `Book` out."""

from __future__ import annotations

from springfit.records.book import Book
from springfit.records.checks import doubts
from springfit.records.conditions import Conditions, read_conditions, read_profile
from springfit.records.reading import check_book, read_book

__all__ = ["Book", "Conditions", "check_book", "doubts", "read_book", "read_conditions", "read_profile"]
