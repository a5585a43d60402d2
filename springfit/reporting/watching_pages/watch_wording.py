"""The sentences of a watch: what a state means, why a zone has it, and what this cannot tell."""

from __future__ import annotations

import math

from springfit.reporting.wording.chance_wording import chance
from springfit.reporting.wording.length_wording import Units, amount
from springfit.watching.batch_states import BatchState, ZoneState
from springfit.watching.batches.batch_size import OTHER_SHEET

__all__ = ["CANNOT_TELL", "action_words", "reason_words", "size_words_of_batch", "state_word", "zone_words"]

_ACTION = {
    "usual": "This batch is like the ones before it: nothing to look for.",
    "watch": "Something moved. Make the check below before the next batch.",
    "stop": "This batch is not normal. Find the cause before more bells are spun.",
}
_BY = {
    "value": "this batch alone lies outside what batches differ by",
    "sum": "small shifts one way have added up over the last batches",
    "mean": "the weighted mean of the last batches has drifted",
    "spread": "its bells differ among themselves more than hands and gauges make",
    "envelope": "it lies beyond what any springback can do",
    "fault": "a fault named below sits here; its readings are not in these numbers",
    "": "as forecast",
}
CANNOT_TELL = (
    "A shift that came with the very first batches of a mandrel: it counts as what that mandrel does.",
    "Which of two causes it was where both leave the same curve: they are named together, with the check that tells.",
    "Anything of bells that were not measured, or of stretches where no station was read.",
)


def state_word(state: str) -> str:
    """The large word of a state."""
    return state.upper()


def action_words(state: str) -> str:
    """What to do in one sentence."""
    return _ACTION[state]


def reason_words(batch: BatchState) -> str:
    """Why the batch has its state."""
    one = batch.judged
    rests = (
        "Fewer than three batches came before it, so only what springback can do at all is a limit."
        if batch.by_envelope
        else f"Held against the forecast made of it from the {one.earlier} batches before"
        + (f" by version {one.said_by}." if one.said_by else ".")
    )
    odd = [zone for zone in batch.zones if zone.state != "usual" and zone.by != "fault"]
    said = "; ".join(f"{zone.score.zone}: {_by_words(zone)}" for zone in odd)
    names = len({(named.name, bool(named.bell_id)) for named in one.named})
    faults = f"{names} finding{'s' if names != 1 else ''} below. " if names else ""
    return f"{said[:1].upper()}{said[1:]}{'. ' if said else ''}{faults}{rests}"


def zone_words(zone: ZoneState, units: Units) -> tuple[str, str]:
    """The number of a zone's line and what belongs to it."""
    score, by = zone.score, _by_words(zone)
    if not score.readings:
        return f"{state_word(zone.state)}", f"{by[:1].upper()}{by[1:]}."
    spread = f"bells differ by {amount(score.spread, units)}, usual {amount(score.usual_spread, units)}"
    detail = f"{amount(score.measured, units)} measured, {amount(score.forecast, units)} forecast; shift "
    detail += f"{amount(score.shift, units, signed=True)}, batches differ by {amount(score.shift_sd, units)}; {spread}"
    return f"{state_word(zone.state)}", f"{detail}. {by[:1].upper()}{by[1:]}."


def _by_words(zone: ZoneState) -> str:
    """What gave a zone its state, and since when where a shift has built up."""
    return _BY[zone.by] + (f", most likely since {zone.since}" if zone.since else "")


def size_words_of_batch(batch: BatchState) -> str:
    """How large all springback of the batch is against its forecast, and what of other sheet that would show."""
    size = batch.judged.size
    if size is None or batch.by_envelope:
        return ""
    share = math.expm1(size.size)
    said = f"Springback as a whole is {_percent(share)} {'more' if share > 0 else 'less'} than forecast, give or take "
    said += f"{_percent(size.sd)} (batches differ by {_percent(size.between_sd)}; seats and readings hide "
    said += f"{_percent(size.reading_sd)}). Sheet {_percent(OTHER_SHEET)} softer would stand out by it in "
    said += f"{chance(size.seen())} of batches: an offcut bent beside one of the last lot, or a hardness test, tells."
    return said


def _percent(share: float) -> str:
    return f"{abs(100.0 * share):.0f} %"
