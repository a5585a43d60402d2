"""The sentence of each reason of a verdict, with its numbers in the shop's own unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, assert_never

from springfit.decisions.verdict import reasons as why
from springfit.geometry.points import STEEP_RAD
from springfit.reporting.wording.chance_wording import chance
from springfit.reporting.wording.length_wording import LEAST_MOVE_MM, Units, amount, station

if TYPE_CHECKING:
    from springfit.decisions.evidence import Fault

__all__ = ["blank_names", "fault_words", "measuring_words", "not_learned_words", "reason_words"]

_MOST_NAMED = 3  # bells in one sentence; assumed


def reason_words(reason: why.Reason, units: Units) -> str:
    """A reason as one clause without capital or full stop; one case a reason."""
    match reason:
        case why.NothingToJudge():
            return "no row of the target can be judged: it shares no unmasked station with the trimmed bell"
        case why.NoMandrelFound():
            return _no_mandrel_found(reason, units)
        case why.NeverMeasured():
            return _never_measured(reason)
        case why.BatchesScatter():
            return _batches_scatter(reason, units)
        case why.ErrorWithinTolerance():
            return _within_tolerance(reason, units)
        case why.SlideSuffices():
            return _slide_suffices(reason, units)
        case why.SteelLacking():
            return _steel_lacking(reason, units)
        case why.SteelMayBeLacking():
            return _steel_may_be_lacking(reason, units)
        case why.SureCut():
            return _sure_cut(reason, units)
        case why.NotSureEnough():
            return _not_sure_enough(reason, units)
        case why.BlanksAllowLess():
            return _blanks_allow_less(reason, units)
        case why.BellsDisagree():
            return _bells_disagree(reason, units)
        case why.NotLearned():
            return not_learned_words(reason.own, reason.others)
        case why.ReadAlike():
            return _read_alike(reason, units)
        case why.NothingWouldSettle():
            return _nothing_would_settle(reason, units)
        case why.ProcessFault():
            return _process_fault(reason, units)
    assert_never(reason)


def fault_words(fault: Fault) -> str:
    """What a fault looks like and what leaves it so."""
    return f"{'swollen' if fault.size_mm > 0 else 'drawn in'}, as passes toward the tail leave it"


def blank_names(columns: Sequence[str]) -> str:
    """Columns of the conditions in the words of a record sheet."""
    return ", ".join(name.removesuffix("_mm").replace("_", " ") for name in columns)


def _no_mandrel_found(reason: why.NoMandrelFound, units: Units) -> str:
    at = reason.folds_at_mm
    folds = "" if at is None else f"; the line it would need folds back on itself from {station(at, units)} on"
    return (
        f"no mandrel was found whose predicted bell is the target (still {amount(reason.left_mm, units)} off), so no "
        f"cut can be stated{folds}"
    )


def _never_measured(reason: why.NeverMeasured) -> str:
    return (
        f"no sound bell of this mandrel has been read: spin and measure {reason.batches} batches before any steel is "
        "judged, for mechanics and bells of other mandrels order no cut"
    )


def _batches_scatter(reason: why.BatchesScatter, units: Units) -> str:
    return (
        f"the means of {reason.batches} batches scatter by at least {amount(reason.least_mm, units)}, more "
        f"than the largest error of {amount(abs(reason.error_mm), units)}: one cut cannot suit them, make the "
        "batches alike first"
    )


def _within_tolerance(reason: why.ErrorWithinTolerance, units: Units) -> str:
    return (
        f"the largest error is {amount(reason.error_mm, units)} per side at {station(reason.z_mm, units)}, within "
        f"the tolerance of {amount(reason.tolerance_mm, units)}"
    )


def _slide_suffices(reason: why.SlideSuffices, units: Units) -> str:
    way = "rim" if reason.slide_mm >= 0 else "tail"
    return (
        f"moving the bell {amount(abs(reason.slide_mm), units)} toward the {way} (the target allows "
        f"{amount(reason.allowance_mm, units)}) brings the largest error from {amount(abs(reason.before_mm), units)} "
        f"to {amount(reason.after_mm, units)}, within {amount(reason.tolerance_mm, units)}: no steel needs cutting"
    )


def _steel_lacking(reason: why.SteelLacking, units: Units) -> str:
    start = (
        f"the bell is {amount(-reason.error_mm, units)} per side too small at {station(reason.z_mm, units)} (chance "
        f"{chance(reason.chance)} of being out of tolerance), and steel cannot be added"
    )
    if reason.move_mm is None:
        return f"{start}; it lies too near the cylinder for a move along the axis to help"
    return (
        f"{start}; the whole flare would have to move {amount(reason.move_mm, units)} toward the rim to make every "
        f"row a removal, and the target allows {_allowed(reason.allowance_mm, units)}"
    )


def _steel_may_be_lacking(reason: why.SteelMayBeLacking, units: Units) -> str:
    return (
        f"the bell is forecast {amount(-reason.error_mm, units)} per side too small at {station(reason.z_mm, units)} "
        f"(by the forecast alone a chance of {chance(reason.chance)} of being out of tolerance); forecast and measured "
        f"bells together are not sure enough of it to give this flare up: {_more(reason.batches)} would settle whether "
        "a new one is needed"
    )


def _sure_cut(reason: why.SureCut, units: Units) -> str:
    placed, move = "", reason.move_mm
    if abs(move) >= LEAST_MOVE_MM:
        turned = f", with the whole line turned {amount(move, units)} further toward the rim,"
        slid = f", and moving the bell {amount(-move, units)} toward the rim,"
        placed = turned if move > 0 else slid
    taken = f"taking {amount(reason.cut_mm, units)} per side off at {station(reason.z_mm, units)}{placed}"
    error = f"largest error of {amount(reason.error_mm, units)}"
    before, after = chance(reason.chance_before), chance(reason.chance_after)
    lowers = f"lowers the chance of a batch out of tolerance from {before} to {after}"
    stays = f"the chance of a batch out of tolerance stays at {after}"
    if reason.answered:
        return f"{taken} answers a {error}, {f'but {stays}' if before == after else f'and {lowers}'}"
    left = f"nothing is sure enough yet to be cut for the {error}, at {station(reason.error_z_mm, units)}"
    return f"{taken} {f'is sure, but {stays}' if before == after else lowers}; {left}"


def _not_sure_enough(reason: why.NotSureEnough, units: Units) -> str:
    sure, least = _sure(reason, units), f", less than the {amount(reason.least_mm, units)} worth setting up for"
    sure += least if sure.startswith("only") else " yet"
    return f"{_out(reason, units)}, but {sure}: {_more(reason.batches)} would settle it"


def _blanks_allow_less(reason: why.BlanksAllowLess, units: Units) -> str:
    return (
        f"{_out(reason, units)}, but with {blank_names(reason.columns)} not filled in it may as well need no cut worth "
        "setting up for: write down how it will be spun, then ask again"
    )


def _read_alike(reason: why.ReadAlike, units: Units) -> str:
    return (
        f"{_out(reason, units)}, but {_sure(reason, units)}: these bells were all "
        "set and read alike, and what one hand or gauge gets wrong does not average out; "
        f"{_more(reason.batches)}, read from a line scribed on each bell, would settle it"
    )


def _nothing_would_settle(reason: why.NothingWouldSettle, units: Units) -> str:
    return (
        f"{_out(reason, units)}; {_sure(reason, units)}, and not even {reason.batches} more batches would make one "
        "worth setting up for"
    )


def _bells_disagree(reason: why.BellsDisagree, units: Units) -> str:
    bells, forecast = (
        f"{amount(value, units, signed=True)} ({amount(half, units)} either way)"
        for value, half in (
            (reason.bells_mm, reason.bells_half_mm), (reason.forecast_mm, reason.forecast_half_mm)
        )
    )  # fmt: skip
    batches = "1 batch" if reason.batches == 1 else f"{reason.batches} batches"
    return (
        f"bells and forecast disagree at {station(reason.z_mm, units)}: measured over {batches} {bells}, forecast "
        f"{forecast}, per side against the bell wanted; nothing is cut on either. Measure there again, "
        f"{measuring_words(reason.slope_rad)}"
    )


def not_learned_words(own: Sequence[str], others: Sequence[str]) -> str:
    """Which measured batches the model does not know, those of this mandrel first, and what to do."""
    named = [f"{', '.join(own)} of this mandrel"] if own else []
    named += [", ".join(others)] if others else []
    return (
        f"the model has not learned what was measured on {' and '.join(named)}: learn it first (springfit train, or "
        "--train here), then ask again; before that no cut is ordered"
    )


def measuring_words(slope_rad: float) -> str:
    """With what a place of this slope is measured best."""
    if slope_rad > STEEP_RAD:
        return "as the z at which the bell has a stated diameter, on every bell at hand"
    return "with leaves between bell and mandrel and with calipers over it, on every bell at hand"


def _process_fault(reason: why.ProcessFault, units: Units) -> str:
    fault = reason.fault
    way = "larger" if fault.size_mm >= 0 else "smaller"
    rest = f"{reason.verdict_elsewhere.replace('_', ' ')}, {reason_words(reason.reason_elsewhere, units)}"
    return (
        f"{len(fault.bells)} of {fault.bells_seen} bells ({_named(fault.bells)}) are "
        f"{amount(abs(fault.size_mm), units)} {way} per side from "
        f"{station(reason.z_from_mm, units)} to {station(reason.z_to_mm, units)}, more than springback can do "
        f"({fault_words(fault)}): fix that in the spinning, cut no steel there; for the rest: {rest}"
    )


def _out(
    reason: why.NotSureEnough | why.BlanksAllowLess | why.NothingWouldSettle | why.ReadAlike, units: Units
) -> str:
    """How far out the bell is, which way, and where."""
    way, cure = ("large", "") if reason.error_mm >= 0.0 else ("small", " and steel cannot be added there")
    size = f"{amount(abs(reason.error_mm), units)} per side too {way}"
    return f"the bell is forecast {size} at {station(reason.z_mm, units)}{cure}"


def _named(bells: Sequence[str]) -> str:
    """The first bells by name, and how many more."""
    more = len(bells) - _MOST_NAMED
    return ", ".join(sorted(bells)[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _sure(reason: why.NotSureEnough | why.NothingWouldSettle | why.ReadAlike, units: Units) -> str:
    """How much of a cut is sure enough; of a bell too small it is one elsewhere, for there none could cure it."""
    sure = amount(reason.sure_mm, units)
    if sure != amount(0.0, units):
        return f"only {sure} of cut is sure enough"
    return f"{'' if reason.error_mm >= 0.0 else 'elsewhere '}no cut is sure enough"


def _allowed(allowance_mm: float, units: Units) -> str:
    """The move along the axis that a target allows."""
    return amount(allowance_mm, units) if allowance_mm >= LEAST_MOVE_MM else "none"


def _more(batches: int) -> str:
    """How many batches still have to be measured, in words that agree with the number."""
    return f"{batches} more measured {'batch' if batches == 1 else 'batches'}"
