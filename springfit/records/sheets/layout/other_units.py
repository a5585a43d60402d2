"""Units that a title or a remark names: `all sizes in inches` above columns in mm is no remark like others."""

from __future__ import annotations

import re
from collections.abc import Sequence

from springfit.lengths import split_unit
from springfit.records.sheets.layout.header_words import unit_of_word

__all__ = ["against_the_columns", "units_named"]

# `in` is a word like any other, and a unit behind a number belongs to that number alone.
_WORD = re.compile(r"(?<![\d.]\s)(?<![\d.\-/])\b(mm|millimet(?:re|er)s?|inch|inches|thou|mils?)\b", re.IGNORECASE)
_FAMILY = {"mm": "mm", "in": "in", "thou": "in"}
_SAID = {"mm": "mm", "in": "inches", "thou": "thou"}


def units_named(cells: Sequence[str]) -> set[str]:
    """The units that the words of a row name."""
    return {unit for cell in cells for word in _WORD.findall(cell) if (unit := unit_of_word(word))}


def against_the_columns(units: set[str], header: Sequence[str]) -> list[str]:
    """Those of the `units`, in words, that are not of the kind, metric or not, that any length of the header is in."""
    of_columns = {_FAMILY[unit] for name in header if (unit := split_unit(name)[1])}
    return sorted(_SAID[unit] for unit in units if of_columns and _FAMILY[unit] not in of_columns)
