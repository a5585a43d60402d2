"""What would settle a verdict that waits, in sentences, the dearest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.decisions.verdict.reasons import ReadAlike
from springfit.reporting.wording.length_wording import Units, station
from springfit.reporting.wording.reason_wording import blank_names, measuring_words
from springfit.reporting.wording.verdict_wording import sentence

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.decisions.verdict.settling import Settling

__all__ = ["dearest_words", "settling_words"]


def settling_words(correction: Correction, units: Units) -> tuple[str, ...]:
    """A line for each thing that would help, with its worth beside that of the first batch."""
    told = correction.settling
    batch = next((one.worth for one in told if one.batches == 1), 0.0)
    return tuple(
        f"{number}. {sentence(f'{_said(one, correction, units)}{_beside(one, batch)}')}"
        for number, one in enumerate(told, start=1)
    )


def dearest_words(correction: Correction, units: Units) -> str:
    """What is worth more than the batches to spin, as a clause beside the advice; empty where they are worth most."""
    told = correction.settling
    if not told or told[0].kind == "batches" or told[0].worth <= 0.0:
        return ""
    return _said(told[0], correction, units).split(", ")[0]


def _said(one: Settling, correction: Correction, units: Units) -> str:
    bells = int(correction.measured["bells"].iloc[-1]) if len(correction.measured) else 0
    batch = str(correction.measured["batch_id"].iloc[-1]) if len(correction.measured) else ""
    hand = f"on the {bells} bells of batch {batch}" if bells else "on bells at hand"
    if one.kind == "blank":
        return f"write down {blank_names([one.column])} in the batch sheet"
    if one.kind == "batches":
        line = ", read from a line scribed on each bell" if isinstance(correction.verdict.reason, ReadAlike) else ""
        return f"spin and measure {one.batches} more {'batch' if one.batches == 1 else 'batches'}{line}"
    again = "read" if one.kind == "station" else "read again"
    return f"{again} {station(one.z_mm, units)} {hand}, {measuring_words(one.slope_rad).split(', on every')[0]}"


def _beside(one: Settling, batch: float) -> str:
    """Its worth in batches."""
    if one.kind == "batches" or batch <= 0.0:
        return ""
    share = one.worth / batch
    many = "more than two batches" if share > 2 else f"about {share:.1f} batch{'es' if share >= 1.05 else ''}"
    return f": worth {many}"
