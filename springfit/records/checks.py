"""Plausibility: readings that can be typed but hardly be true, each mistake by its name."""

from __future__ import annotations

from springfit.findings import Finding
from springfit.records.book import Book

__all__ = ["doubts"]


def doubts(book: Book) -> tuple[Finding, ...]:
    """Every doubt and note about a book that has no errors."""
    return ()
