"""The shop's record book: tables as typed in, one checked `Book` out. Not what its numbers mean for steel."""

from __future__ import annotations

from springfit.records.book import Book
from springfit.records.checks.catalogue import doubts
from springfit.records.conditions import Conditions, read_conditions, read_profile
from springfit.records.editing.adding import Addition, add_sheets
from springfit.records.editing.starting import new_book
from springfit.records.findings_listing import findings_html, findings_json, findings_text
from springfit.records.reading import check_book, read_book

__all__ = [
    "Addition",
    "Book",
    "Conditions",
    "add_sheets",
    "check_book",
    "doubts",
    "findings_html",
    "findings_json",
    "findings_text",
    "new_book",
    "read_book",
    "read_conditions",
    "read_profile",
]
