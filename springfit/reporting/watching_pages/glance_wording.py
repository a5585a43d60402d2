"""The sentences of the shop at a glance: what was done about a verdict, and what comes next."""

from __future__ import annotations

from springfit.watching.shop_glance import MandrelRow

__all__ = ["done_words", "next_at_bench", "next_words"]

_DONE = {
    "none": "",
    "due": "not done yet",
    "changed": "a later revision is in the book",
    "nothing": "nothing was to be done",
}
_NEXT = {
    "measure": "spin a batch and measure it",
    "find_cause": "find the cause before steel is changed",
    "cut": "change the steel as the report says",
    "spin_more": "spin and measure more batches",
    "judge": "work out its report",
    "carry_on": "carry on",
}
_TYPED = {"judge": " (springfit correct)"}  # what does it, for who reads this on paper


def done_words(row: MandrelRow) -> str:
    """What was done about the last verdict."""
    return _DONE[row.done]


def next_words(row: MandrelRow) -> str:
    """The next step, and the command that does it."""
    return _NEXT[row.next_step] + _TYPED.get(row.next_step, "")


def next_at_bench(row: MandrelRow) -> str:
    """The next step for who has a page before him that does it, not a line to type."""
    return _NEXT[row.next_step]
