"""Collecting errors while the tables of a book are judged: each at the file, line and column it was typed in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd

from springfit.findings import Finding
from springfit.records.book import Headers, located

__all__ = ["ErrorCollector", "Frames"]

Frames = Mapping[str, pd.DataFrame]


class ErrorCollector:
    """Collects errors at rows of frames, each at the file and line it was typed on."""

    def __init__(self, frames: Frames, headers: Headers) -> None:
        self.frames = frames
        self.headers = headers
        self.findings: list[Finding] = []

    def refuse(
        self, table: str, rows: Iterable[Any], column: str, what: str, expected: str, remedy: str = ""
    ) -> None:
        """An error at each of the rows (labels) of a table's frame."""
        for row in rows:
            place = located(self.headers, self.frames[table], row, column)
            self.findings.append(Finding("error", *place, what, expected, remedy))
