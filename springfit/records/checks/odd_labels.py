"""Words taken for names of their own: signs for "not known", and two spellings of one word."""

from __future__ import annotations

import difflib
import re

import pandas as pd

from springfit.findings import Finding
from springfit.records.book import Book

__all__ = ["odd_labels"]

_LABELS = ("lot", "draw_ring", "lubricant", "spinner")  # columns of batches whose words are groups
_UNKNOWN = re.compile(
    r"[-?./x*~–—_ ]+|n\.?/?a\.?|na|nil|tbd|unknown|(none|not) (known|noted|recorded)|don'?t know|forgotten|no idea"
    r"|same|as before|ditto|\"|''",
    re.IGNORECASE,
)  # fmt: skip
# A word this long, so much alike, is one word spelt twice: `tallow` and `talow`; by judgement
_LETTERS, _ALIKE = 4, 0.75


def odd_labels(book: Book) -> list[Finding]:
    """A doubt for each word that stands for a blank, and for each pair of spellings, at its rarer one's first row."""
    found = []
    for column in _LABELS:
        values = book.batches[column].dropna()
        counts = values.value_counts()
        for word in [word for word in counts.index if _UNKNOWN.fullmatch(str(word))]:
            rows = values.index[values == word]
            found.append(
                _doubt(book, column, rows, f"{word!r} is taken for the name of a {column}", "a name, or a blank",
                       "leave the cell blank if it is not known")
            )  # fmt: skip
            counts = counts.drop(word)
        words = list(counts.index)
        for n, word in enumerate(words):
            other = next((common for common in words[:n] if _same_word(str(common), str(word))), None)
            if other is not None:
                rows = values.index[values == word]
                found.append(
                    _doubt(book, column, rows, f"{word!r} and {other!r} are taken for two", "one spelling",
                           f"write {other!r} if it is the same {column}")
                )  # fmt: skip
    return found


def _same_word(first: str, second: str) -> bool:
    """Whether two labels are one word in two spellings: letter case, signs, or one word of them misspelt."""
    plain = [re.sub(r"[\W_]+", "", text.casefold()) for text in (first, second)]
    if plain[0] == plain[1]:
        return True
    words = [re.findall(r"\w+", text.casefold()) for text in (first, second)]
    differ = [(a, b) for a, b in zip(*words, strict=False) if a != b]
    if len(words[0]) != len(words[1]) or len(differ) != 1:
        return False
    a, b = differ[0]
    if min(len(a), len(b)) < _LETTERS or not (a.isalpha() and b.isalpha()):
        return False
    return a[0] == b[0] and difflib.SequenceMatcher(None, a, b).ratio() >= _ALIKE


def _doubt(book: Book, column: str, rows: pd.Index, what: str, expected: str, remedy: str) -> Finding:
    more = f" (in {len(rows)} batches)" if len(rows) > 1 else ""
    batch = str(book.batches.at[rows[0], "batch_id"])
    return book.finding(
        "doubt", "batches", rows[0], column, what=f"{what}{more}", expected=expected, remedy=remedy, subject=batch
    )
