"""The words of the reports: verdicts and what to do about them, heads of columns, standing cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.lengths import split_unit
from springfit.reporting.amounts import Units, amount

if TYPE_CHECKING:
    from springfit.decisions.verdict import Verdict

__all__ = ["CAUTIONS", "ONE_WAY", "action_of", "all_in", "head_of", "sentence", "units_line", "word_of"]

ONE_WAY = (
    "Steel taken off cannot be put back. Cut the smaller amount, spin a batch, measure it, "
    "and run this again before the next cut."
)
CAUTIONS = (
    "Usual lathe cautions: eye protection, no gloves or loose sleeves, key out of the chuck, speed checked "
    "before the tool touches. Keep to local codes; leave to licensed people what the law reserves for them."
)

_UNITS = {"in": "inches (small amounts in thou, 0.001 in)", "mm": "millimetres"}

_WORDS = {
    "leave": "LEAVE",
    "slide": "SLIDE",
    "process": "FIX THE PROCESS",
    "wait": "WAIT",
    "recut": "RECUT",
    "new_flare": "NEW FLARE",
}

_HEADS = {
    "read": "check by",
    "diameter": "Ø turn",
    "finish_diameter": "Ø finish",
    "do_not_pass_diameter": "Ø do not pass",
    "removal": "removal per side",
    "reversed": "curve reversed",
    "cut_now_diameter": "Ø cut now",
    "present_diameter": "Ø present",
    "target_diameter": "Ø bell wanted",
    "mandrel_diameter": "Ø mandrel",
    "bell_diameter": "Ø bell inside",
    "need_diameter": "Ø full need",
    "error": "bell error",
    "error_lo": "low",
    "error_hi": "high",
    "error_steel": "steel",
    "error_springback": "springback",
    "error_unexplained": "unexplained",
    "masked": "not judged",
    "gap_mean_lo": "batch mean, low",
    "gap_mean_hi": "batch mean, high",
}


def word_of(verdict: Verdict) -> str:
    """The verdict as the one large word of page one."""
    return _WORDS[verdict.verdict]


def units_line(units: Units, *, amounts: str) -> str:
    """The line under every title; `amounts`: what is measured per side, with its verb."""
    sides = f"Sizes are DIAMETERS, {amounts} PER SIDE."
    return f"All lengths in {_UNITS[units]}. {sides} z\u00a0runs from the tail (0) to the rim."


def action_of(verdict: Verdict, units: Units, *, deepest: str) -> str:
    """What to do, in a sentence or two with amount and place; `deepest`: where the deepest cut is."""
    if verdict.verdict == "recut":
        return f"Take off {amount(verdict.largest_cut_mm, units)} per side at most, at {deepest}."
    return _ACTIONS[verdict.verdict](verdict, units)


def _slide(verdict: Verdict, units: Units) -> str:
    way = "rim" if verdict.slide_mm >= 0.0 else "tail"
    slide = amount(abs(verdict.slide_mm), units)
    return f"Do not cut. Move the whole flare {slide} along the axis, toward the {way}."


def _wait(verdict: Verdict, units: Units) -> str:
    more = "more" if verdict.more_batches is None else f"{verdict.more_batches} more"
    batches = "batch" if verdict.more_batches == 1 else "batches"
    return f"Do not cut yet. Spin and measure {more} {batches} first."


def _process(verdict: Verdict, units: Units) -> str:
    if verdict.largest_cut_mm > 0.0:
        return "Put the spinning right first. The cut table is for the rest of the flare, not for the fault."
    return "Do not cut. The fault is in the spinning, not in the steel."


def _new_flare(verdict: Verdict, units: Units) -> str:
    return "Do not cut this flare: it would need steel put on. The table gives the sizes of a new one."


def _leave(verdict: Verdict, units: Units) -> str:
    return "Do not cut."


_ACTIONS = {
    "leave": _leave,
    "slide": _slide,
    "process": _process,
    "wait": _wait,
    "new_flare": _new_flare,
}


def all_in(units: Units) -> str:
    """The note above a table."""
    return f"Lengths in {'inches' if units == 'in' else 'mm'}, Ø are diameters."


def sentence(words: str) -> str:
    """Words with a capital and a full stop."""
    said = words.strip().rstrip(".")
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def head_of(column: str) -> str:
    """A plain head for a column: the name in words, without its unit, which stands above the table."""
    name, _ = split_unit(column)
    return _HEADS.get(name, name.replace("_diameter", " Ø").replace("_", " "))
