"""Texts that a spreadsheet would take for a formula, made harmless and read back: the one rule for every cell written.

A program that opens CSV runs a text cell that begins with one of = + - @, some after white space, so such a
text is written behind a quote mark. Reading takes one mark off, so a text that begins with marks and a sign gets one
more: what is read is what was written (OWASP, CSV Injection, names the signs and the remedy).
"""

from __future__ import annotations

import re

__all__ = ["guarded", "unguarded"]

_FORMULA_LIKE = re.compile(r"[\s']*[=+\-@]")
_GUARDED = re.compile(rf"'{_FORMULA_LIKE.pattern}")


def guarded(text: str) -> str:
    """`text`, behind a quote mark if a spreadsheet could take it for a formula; `unguarded` takes it off."""
    return f"'{text}" if _FORMULA_LIKE.match(text) else text


def unguarded(text: str) -> str:
    """The text that was meant by a cell that may have been `guarded`."""
    return text[1:] if _GUARDED.match(text) else text
