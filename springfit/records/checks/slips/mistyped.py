"""What a number would have been if one figure were mistyped or two swapped."""

from __future__ import annotations

import itertools
import re

__all__ = ["likely_typed"]

_PLAIN = re.compile(r"\d*\.?\d+")


def likely_typed(cell: str, expected: float, within: float) -> str:
    """The number nearest `expected`, and no further than `within`, that differs from the cell by one figure or by two
    neighbouring figures swapped; "" when there is none. All in the cell's own unit."""
    text = cell.strip()
    if not _PLAIN.fullmatch(text):
        return ""
    figures = [n for n, letter in enumerate(text) if letter.isdigit()]
    candidates = {text[:n] + digit + text[n + 1 :] for n in figures for digit in "0123456789"}
    for a, b in itertools.pairwise(figures):
        swapped = list(text)
        swapped[a], swapped[b] = swapped[b], swapped[a]
        candidates.add("".join(swapped))
    near = [one for one in sorted(candidates - {text}) if abs(float(one) - expected) <= within]
    return min(near, key=lambda one: abs(float(one) - expected), default="")
