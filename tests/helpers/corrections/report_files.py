"""The files of a correction report: other people's scripts rely on these names."""

from __future__ import annotations

REPORT_FILES = {
    "verdict.json",
    "corrected_mandrel.csv",
    "bells.csv",
    "card.pdf",
    "cut_table.csv",
    "facets.csv",
    "corrected_mandrel.dxf",
    "correction.html",
    "correction.pdf",
}
