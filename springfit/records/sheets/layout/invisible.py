"""Characters that cannot be seen, taken out of a cell; spellings of one sign made one."""

from __future__ import annotations

import re

__all__ = ["plain_number_signs", "visible"]

# Zero-width space, joiners, word joiner and byte-order mark: they come with text copied from pages and messages, and
# have no meaning in a name or a number. Marks that turn the writing direction are left: they can hide what is there.
_INVISIBLE = re.compile("[\u200b\u200c\u200d\u2060\ufeff]")
_INCH_MARKS = re.compile("[\u201d\u2033\u201c]|''|\u2032\u2032")  # typographic, double prime, two single ones
_DASHES = re.compile("[\u2010\u2011\u2012\u2013\u2212]")
_BLANKS = re.compile("[\u00a0\u2009\u202f]")  # no-break and thin spaces
_ONE_SIGN_FRACTIONS = {
    "\u00bd": "1/2", "\u00bc": "1/4", "\u00be": "3/4", "\u215b": "1/8", "\u215c": "3/8", "\u215d": "5/8",
    "\u215e": "7/8",
}  # fmt: skip


def visible(cell: str) -> str:
    """The cell without characters that cannot be seen, and without blanks at its ends."""
    if cell.isascii():
        return cell.strip()
    return _INVISIBLE.sub("", cell).strip()


def plain_number_signs(cell: str) -> str:
    """A number's text with plain inch marks, dashes, blanks and fractions, as a keyboard has them."""
    if cell.isascii():
        return cell.replace("''", '"')
    plain = _BLANKS.sub(" ", _DASHES.sub("-", _INCH_MARKS.sub('"', cell)))
    for sign, fraction in _ONE_SIGN_FRACTIONS.items():
        plain = plain.replace(sign, f" {fraction}")
    return plain.replace("\u2044", "/").strip()
