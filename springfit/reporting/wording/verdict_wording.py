"""The words of the reports: verdicts, what to do about them, and what is said every time."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from springfit.decisions.verdict import reasons as why
from springfit.reporting.wording.chance_wording import chance
from springfit.reporting.wording.length_wording import LEAST_MOVE_MM, Units, amount, place, station

if TYPE_CHECKING:
    from springfit.decisions.verdict.questions import Verdict

__all__ = ["CAUTIONS", "NEW_LINE", "NO_CUT", "ONE_WAY", "action_of", "sentence", "unbroken", "word_of"]

ONE_WAY = (
    "Steel taken off cannot be put back. Cut the smaller amount, spin a batch, measure it, "
    "and run this again before the next cut."
)
NO_CUT = "Steel taken off cannot be put back. Cut none off this mandrel on the strength of this page."
NEW_LINE = "Steel taken off cannot be put back. Cut none off the mandrel of now: the sizes are those of a new flare."
CAUTIONS = (
    "Usual lathe cautions: eye protection, no gloves or loose sleeves, key out of the chuck, speed checked "
    "before the tool touches. Keep to local codes; leave to licensed people what the law reserves for them."
)

_BUYS_LITTLE = 0.1  # of a chance: less is nothing that a shop sees in its batches; assumed

_NUMBER_AND_UNIT = re.compile(r"(\d) (%|mm|in|thou)(?!\w)")
_NAME_AND_NUMBER = re.compile(r"\b(z|Ø|[Ss]teel|springback|unexplained) (?=[-+]?\d)")
_WORDS = {
    "leave": "LEAVE",
    "slide": "SLIDE",
    "process": "FIX THE PROCESS",
    "wait": "WAIT",
    "recut": "RECUT",
    "new_flare": "NEW FLARE",
}


def word_of(verdict: Verdict) -> str:
    """The verdict as the one large word of page one."""
    return _WORDS[verdict.verdict]


def action_of(verdict: Verdict, units: Units, *, deepest: str, sooner: str = "") -> str:
    """What to do, in a sentence or two with amount and place; `deepest`: where the deepest cut is; `sooner`: what is
    worth more than to wait for batches."""
    if sooner and isinstance(verdict.reason, (why.NotSureEnough, why.SteelMayBeLacking)):
        return f"Do not cut yet. {sentence(sooner)} If that does not settle it: {_spin_more(verdict)}."
    if verdict.verdict == "recut":
        taken = f"Take off up to {amount(verdict.largest_cut_mm, units)} per side, most at {deepest}"
        return f"{taken}{_beside_the_cut(verdict, units)}.{_buys_little(verdict)}"
    return _ACTIONS[verdict.verdict](verdict, units)


def _beside_the_cut(verdict: Verdict, units: Units) -> str:
    """How far the bell has to be moved as well; empty where the cut stands alone."""
    if verdict.slide_mm < LEAST_MOVE_MM:
        return ""
    return f", and set the bell {amount(verdict.slide_mm, units)} nearer the rim"


def _buys_little(verdict: Verdict) -> str:
    """That the cut alone hardly helps, where it does not; a maker may want to wait for more of it."""
    if not verdict.chance_out_before - verdict.chance_out_after < _BUYS_LITTLE:
        return ""
    return " Alone it buys next to nothing."


def _slide(verdict: Verdict, units: Units) -> str:
    way, slide = "rim" if verdict.slide_mm >= 0.0 else "tail", amount(abs(verdict.slide_mm), units)
    said = f"Do not cut. Set the whole bell {slide} nearer the {way} than it sits now."
    now, then = chance(verdict.chance_out_before), chance(verdict.chance_out_after)
    risk = f"stays at {then}" if then == now else f"is then {then}, not {now}"
    return unbroken(f"{said} The next batch's risk {risk}.")


def _wait(verdict: Verdict, units: Units) -> str:
    if isinstance(verdict.reason, why.BellsDisagree):
        return f"Do not cut. Measure the bells again at {station(verdict.reason.z_mm, units)}."
    if isinstance(verdict.reason, why.NotLearned):
        return "Do not cut yet. The newest readings have not been learned."
    if isinstance(verdict.reason, why.BlanksAllowLess):
        return "Do not cut yet. Fill in what the batch sheet leaves open first."
    if isinstance(verdict.reason, why.NeverMeasured):
        return f"Do not cut yet. Spin and measure {verdict.reason.batches} batches first."
    if isinstance(verdict.reason, why.ReadAlike):
        return (
            "Do not cut yet. Scribe a line on each bell of the next batch before it comes off, and read the bells "
            "from that line."
        )
    return f"Do not cut yet. {_spin_more(verdict).capitalize()} first."


def _spin_more(verdict: Verdict) -> str:
    more = "more" if verdict.more_batches is None else f"{verdict.more_batches} more"
    batches = "batch" if verdict.more_batches == 1 else "batches"
    return f"spin and measure {more} {batches}"


def _process(verdict: Verdict, units: Units) -> str:
    if verdict.largest_cut_mm > 0.0:
        return "Put the spinning right first. The cut table is for the rest of the flare, not for the fault."
    reason = verdict.reason
    if isinstance(reason, why.ProcessFault):
        where = f"from z {place(reason.z_from_mm, units)} to {place(reason.z_to_mm, units)}"
        return unbroken(f"Do not cut. Put the spinning right first: the fault {where} is not in the steel.")
    return "Do not cut. No one cut suits batches that differ so much: make them alike first."


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


def unbroken(words: str) -> str:
    """Words with no line ending between a number and its unit, nor between a name and its number."""
    return _NAME_AND_NUMBER.sub("\\1\u00a0", _NUMBER_AND_UNIT.sub("\\1\u00a0\\2", words))


def sentence(words: str) -> str:
    """Words with a capital and a full stop, and no line ending between a number and its unit."""
    said = unbroken(words.strip().rstrip("."))
    return f"{said[:1].upper()}{said[1:]}." if said else ""
