"""What would settle a verdict that waits, in sentences, the dearest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.decisions.verdict.reasons import ReadAlike
from springfit.geometry.points import STEEP_RAD
from springfit.reporting.wording.length_wording import Units, place, station
from springfit.reporting.wording.places import diameter_at
from springfit.reporting.wording.reason_wording import blank_names, measuring_words
from springfit.reporting.wording.verdict_wording import sentence

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.decisions.verdict.settling import Settling

__all__ = ["dearest_words", "settling_words"]


def settling_words(correction: Correction, units: Units) -> tuple[str, ...]:
    """A line for each thing that would help, with its worth beside that of the first batch. More batches than the
    verdict asks for are no answer to it, and not told."""
    asked = correction.verdict.more_batches
    told = [one for one in correction.settling if asked is None or one.batches <= asked]
    batch = next((one.worth for one in told if one.batches == 1), 0.0)
    return tuple(
        f"{number}. {sentence(f'{_what(one, correction, units)}{_how(one, correction, units)}{_beside(one, batch)}')}"
        for number, one in enumerate(told, start=1)
    )


def dearest_words(correction: Correction, units: Units) -> str:
    """What is worth more than the batches to spin, as a clause beside the advice; empty where they are worth most."""
    told = correction.settling
    if not told or told[0].kind == "batches" or told[0].worth <= 0.0:
        return ""
    return _what(told[0], correction, units)


def _what(one: Settling, correction: Correction, units: Units) -> str:
    """What to do, and where."""
    if one.kind == "blank":
        return f"write down {blank_names([one.column])} in the batch sheet"
    if one.kind == "batches":
        return f"spin and measure {one.batches} more {'batch' if one.batches == 1 else 'batches'}"
    bells = int(correction.measured["bells"].iloc[-1]) if len(correction.measured) else 0
    batch = str(correction.measured["batch_id"].iloc[-1]) if len(correction.measured) else ""
    hand = f"on the {bells} bells of batch {batch}" if bells else "on bells at hand"
    again = "read" if one.kind == "station" else "read again"
    return f"{again} {station(one.z_mm, units)} (Ø {_steel(one, correction, units)}) {hand}"


def _how(one: Settling, correction: Correction, units: Units) -> str:
    """With what it is read."""
    if one.kind == "batches" and isinstance(correction.verdict.reason, ReadAlike):
        return ", read from a line scribed on each bell"
    if one.kind in ("blank", "batches"):
        return ""
    if one.slope_rad > STEEP_RAD:
        return f", as the z at which a bell has Ø {_steel(one, correction, units)} inside"
    return f", {measuring_words(one.slope_rad).split(', on every')[0]}"


def _steel(one: Settling, correction: Correction, units: Units) -> str:
    """The diameter of the steel at its place, as it is found there."""
    return place(diameter_at(correction.stations, one.z_mm), units)


def _beside(one: Settling, batch: float) -> str:
    """Its worth beside that of one more batch."""
    if one.batches == 1 or batch <= 0.0:
        return ""
    share = one.worth / batch
    many = "more than twice as much" if share > 2 else f"about {share:.1f} times as much"
    return f": worth {many} as one more batch"
