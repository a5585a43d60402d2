"""Which table a file or sheet belongs to by its name, and which it may have been meant for."""

from __future__ import annotations

import difflib
import re

from springfit.records.tables import TABLES

__all__ = ["likely_table", "table_of"]

_ALIKE = 0.85  # similarity of two names from which one is taken for a misspelling of the other; by judgement


def table_of(name: str) -> str | None:
    """The table of a file or sheet: `bells.csv`, `bells-may`, `Mandrel profile`; None for another name."""
    stem = re.sub(r"\s*-\s*", "-", name.lower().removesuffix(".csv").strip())
    plain = re.sub(r"[\s_]+", "_", stem)
    if re.sub(r"[\s_-]+", "_", stem) in TABLES:
        return re.sub(r"[\s_-]+", "_", stem)
    return next((table for table in TABLES if plain.startswith(f"{table}-")), None)


def likely_table(name: str) -> str | None:
    """The table that a name not read may have been meant for: `measurements_b024`, `measurements (2)`, `bell`."""
    stem = re.sub(r"[^a-z]+", "_", name.lower().rpartition(".")[0] or name.lower()).strip("_")
    longest_first = sorted(TABLES, key=len, reverse=True)
    for table in longest_first:
        if stem.startswith(table) or stem.endswith(table) or stem == table.removesuffix("s"):
            return table
    close = difflib.get_close_matches(stem, list(TABLES), 1, _ALIKE)
    return close[0] if close else None
