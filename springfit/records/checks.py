"""Plausibility: readings that can be typed but hardly be true, each mistake by its name.

A check is a function from the book and its placed readings to findings; a new one is one line in `_CHECKS`.
"""

from __future__ import annotations

from springfit.findings import Finding
from springfit.records.book import Book
from springfit.records.mistakes import misfits, strays
from springfit.records.placed import placed_readings, steels

__all__ = ["doubts"]


def doubts(book: Book) -> tuple[Finding, ...]:
    """Every doubt and note about a book that has no errors."""
    of = steels(book)
    readings = placed_readings(book, of)
    findings = misfits(book, readings, of)
    findings += strays(book, readings, {finding.subject for finding in findings})
    return tuple(findings)
