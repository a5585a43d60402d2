"""What a correction cannot tell: masked stretches, thin evidence, blanks, unexplained parts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from springfit.decisions.verdict.reasons import ProcessFault
from springfit.reporting.wording.length_wording import Units, amount, counted, place, station
from springfit.reporting.wording.reason_wording import measuring_words, not_learned_words
from springfit.reporting.wording.zones import is_cut, is_masked, stretches

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.learning.coverage import CoverageNote
    from springfit.records.conditions import Conditions

__all__ = ["coverage_words", "limits_of", "untrusted"]

Array = npt.NDArray[np.float64]

_MOST_NAMED = 4  # batches in one sentence, as many as the picture marks

_ASKED = {  # conditions that steer the forecast, in the words of a record sheet
    "temper": "temper",
    "wall_mm": "sheet thickness",
    "anneal": "anneal",
    "passes": "number of passes",
    "hump": "free metal ahead of the tool",
    "tool_nose_mm": "tool nose",
    "draw_end_mm": "where drawing stops",
    "lubricant": "lubricant",
}
_TRUST = {
    "stretched": "the forecast reaches past what the recorded bells cover",
    "physics_only": "no recorded bell speaks; the forecast is mechanics alone",
}


def limits_of(correction: Correction, *, units: Units) -> tuple[str, ...]:
    """Sentences on what this correction cannot tell, the weightiest first."""
    return (
        *_disputed(correction, units),
        *_folds(correction, units),
        *_unlearned(correction),
        *_unexplained(correction, units),
        *_thin_evidence(correction),
        *_unread(correction, units),
        *_stretched(correction, units),
        *_masked(correction, units),
        *_not_written_down(correction.conditions),
    )


def untrusted(z_mm: Array, trust: npt.NDArray[np.str_], units: Units) -> tuple[str, ...]:
    """Sentences on stretches where a forecast rests on less than the recorded bells; z_mm, trust: (n,)."""
    where = {name: stretches(z_mm, trust == name, units) for name in _TRUST}
    return tuple(f"At {where[name]} {words}." for name, words in _TRUST.items() if where[name])


def coverage_words(note: CoverageNote) -> str:
    """The sentence of a fact on what a forecast rests on; KeyError for a kind that has none."""
    names = note.names
    if note.kind == "not_learned":
        said = not_learned_words((), names)
        return f"{said[:1].upper()}{said[1:]}."
    words = {
        "unmeasured": "No bell has been measured: this is mechanics alone.",
        "nearest": f"Nearest recorded mandrels: {', '.join(names)}.",
        "never_met": f"No measured batch was of {' '.join(names)}.",
        "outside": f"The {' '.join(names).replace('_', ' ')} lies outside what was recorded.",
        "draw_end_blank": "The draw end is not filled in: it is taken as two thirds of the bell, 15 % either way.",
    }
    return words[note.kind]


def _disputed(correction: Correction, units: Units) -> tuple[str, ...]:
    """Where bells and forecast disagree, and with what to measure there."""
    disputed = getattr(correction.case, "masks", None)
    if disputed is None or not disputed.disputed.any():
        return ()
    mandrel = correction.case.mandrel
    where = stretches(mandrel.z, disputed.disputed, units)
    steepest = float(np.max(mandrel.slope[disputed.disputed]))
    return (f"Bells and forecast disagree at {where}: nothing is cut there. Measure there again, "
            f"{measuring_words(steepest)}.",)  # fmt: skip


def _unread(correction: Correction, units: Units) -> tuple[str, ...]:
    """Where no bell was ever read, what the forecast makes of it, and with what to measure there."""
    unread = _masked_as(correction, "unread")
    if not unread.any():
        return ()
    stations = correction.stations[unread]
    error, steepest = stations["error_mm"].to_numpy(float), float(stations["slope_rad"].max())
    where = stretches(correction.stations["z_mm"].to_numpy(float), unread, units)
    worst = float(error[np.argmax(np.abs(np.nan_to_num(error)))])
    told = f"No bell of this steel, spun like this, was read down to the tail: nothing is judged at {where}."
    if not abs(worst) > correction.job.tolerance_mm:
        return (told,)
    size = f"{amount(abs(worst), units)} per side too {'large' if worst > 0 else 'small'}"
    return (f"{told} The bell is forecast {size} there: measure there before you turn, {measuring_words(steepest)}.",)


def _unlearned(correction: Correction) -> tuple[str, ...]:
    new = correction.case.evidence.unlearned
    if not new:
        return ()
    said = not_learned_words(new.own, new.others)
    return (f"{said[:1].upper()}{said[1:]}.",)


def _folds(correction: Correction, units: Units) -> tuple[str, ...]:
    at = correction.folds_at_mm
    if at is None:
        return ()
    return (
        f"The new flare wanted folds back on itself from {station(at, units)} on and cannot be turned there: the sizes "
        "end before that place. Ask for another target there, or measure more bells.",
    )


def _thin_evidence(correction: Correction) -> tuple[str, ...]:
    evidence = correction.case.evidence
    if not evidence.bells:
        return ("No bell of this steel has been measured; the error shown is a forecast and nothing else.",)
    return (f"{_rests_on(correction)} Another sheet lot, anneal or hand can fall outside its bands.",)


def _rests_on(correction: Correction) -> str:
    """The batches held against this steel by name, and those from which the forecast alone has learned."""
    batches = correction.measured.drop_duplicates("batch_id")
    if not len(batches):
        evidence = correction.case.evidence
        return f"The forecast has learned from {evidence.batches} batches and {evidence.bells} bells of this mandrel."
    used = batches["used"].to_numpy(bool)
    (own, own_bells), (others, other_bells) = (
        (counted(int(rows.sum()), "batch"), counted(int(batches["bells"][rows].sum()), "bell"))
        for rows in (used, ~used)
    )
    names = ", ".join(map(str, batches["batch_id"][used][-_MOST_NAMED:]))
    named = names if used.sum() <= _MOST_NAMED else f"the newest {names}"
    said = f"It rests on {own} spun like this ({named}; {own_bells})" if used.any() else "No batch was spun like this"
    return said + (f"; {others} spun otherwise ({other_bells}) taught the forecast alone." if not used.all() else ".")


def _stretched(correction: Correction, units: Units) -> tuple[str, ...]:
    stations = correction.stations
    trust = np.where(is_masked(stations), "", stations["trust"].astype(str))
    return untrusted(stations["z_mm"].to_numpy(float), trust, units)


def _masked(correction: Correction, units: Units) -> tuple[str, ...]:
    masked = is_masked(correction.stations) & ~_masked_as(correction, "disputed") & ~_masked_as(correction, "unread")
    where = stretches(_to_the_ends_of_a_fault(correction, masked), masked, units)
    if not where:
        return ()
    if np.any(masked & is_cut(correction.stations)):
        return (f"Nothing is judged at {where} (hatched); a cut that reaches it only runs off there.",)
    return (f"Nothing is judged or cut at {where} (hatched).",)


def _to_the_ends_of_a_fault(correction: Correction, masked: npt.NDArray[np.bool_]) -> Array:
    """The z of the stations, those outermost under a fault moved to its ends: one stretch, one pair of numbers."""
    z, reason = correction.stations["z_mm"].to_numpy(float).copy(), correction.verdict.reason
    if not isinstance(reason, ProcessFault):
        return z
    under = np.flatnonzero(masked & (z >= reason.z_from_mm) & (z <= reason.z_to_mm))
    if under.size:
        z[under[[0, -1]]] = reason.z_from_mm, reason.z_to_mm
    return z


def _masked_as(correction: Correction, reason: str) -> npt.NDArray[np.bool_]:
    """Rows of the stations that are masked for a reason that is said by itself: disputed, or unread."""
    s, masks = correction.stations["s_mm"].to_numpy(float), getattr(correction.case, "masks", None)
    if masks is None:
        return np.zeros(s.size, dtype=bool)
    return np.interp(s, correction.case.mandrel.s, getattr(masks, reason).astype(float)) > 0.5


def _unexplained(correction: Correction, units: Units) -> tuple[str, ...]:
    stations = correction.stations
    left = np.where(is_masked(stations), 0.0, np.nan_to_num(stations["error_unexplained_mm"].to_numpy(float)))
    worst = int(np.argmax(np.abs(left)))
    if abs(left[worst]) <= correction.job.tolerance_mm:
        return ()
    z = place(float(stations["z_mm"].iloc[worst]), units)
    return (f"{amount(left[worst], units, signed=True)} at z {z} is neither steel nor springback.",)


def _not_written_down(conditions: Conditions) -> tuple[str, ...]:
    blank = [words for name, words in _ASKED.items() if getattr(conditions, name, None) is None]
    return (f"Not in the records, so the bands are wider: {', '.join(blank)}.",) if blank else ()
