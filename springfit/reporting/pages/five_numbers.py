"""The five numbers of page one: error, cut, move, risk, and what the bells of the mandrel showed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from springfit.reporting.pages.bells_sheet import largest_measured
from springfit.reporting.pages.exported_tables import for_the_hand
from springfit.reporting.pages.printed_tables import Number
from springfit.reporting.wording.chance_wording import chance
from springfit.reporting.wording.length_wording import (
    LEAST_MOVE_MM,
    Units,
    amount,
    bare_amount,
    others,
    place,
)
from springfit.reporting.wording.places import diameter_at
from springfit.reporting.wording.verdict_wording import sentence, unbroken
from springfit.reporting.wording.zones import is_cut, stretches

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.decisions.verdict.decision_case import Verdict

__all__ = ["deepest_place", "five_numbers"]

_WORTH_A_REASON = 0.1  # of a chance: what bands of nine in ten leave out anyhow


def five_numbers(correction: Correction, units: Units) -> tuple[Number, ...]:
    """Error, cut, move, risk, and what the bells showed."""
    numbers = (
        _error_now(correction, units),
        _cut_now(correction, units),
        _move(correction, units),
        _risk(correction, units),
        Number(*largest_measured(correction, units)),
    )
    return tuple(replace(number, detail=unbroken(number.detail)) for number in numbers)


def _error_now(correction: Correction, units: Units) -> Number:
    """The largest error of the bell as it is, its place and its three parts."""
    label, verdict = "Largest error forecast", correction.verdict
    z = verdict.largest_error_at_mm
    if not np.isfinite(z):
        return Number(label, amount(verdict.largest_error_mm, units, signed=True), "nowhere to judge")
    row, split = _own_row(correction, z), correction.case.split
    steel, springback, unexplained = (
        float(part[row]) for part in (split.steel, split.springback, split.unexplained)
    )
    first, second = (bare_amount(part, units, signed=True) for part in (steel, springback))
    parts = f"steel {first}, springback {second}, unexplained {amount(unexplained, units, signed=True)}"
    error = verdict.largest_error_mm
    way = "large" if error >= 0.0 else "small"
    where = _where(correction, z, units)
    said = f"{others(error, units)}; bell too {way}, per side, at {where}. {sentence(parts)}"
    return Number(label, amount(error, units, signed=True), said)


def _cut_now(correction: Correction, units: Units) -> Number:
    """The deepest cautious cut, its place and the stretch that is cut."""
    label, verdict, stations = "Deepest cut now", correction.verdict, correction.stations
    cut = is_cut(stations)
    if not cut.any():
        return Number(label, "none", "No steel is to come off.")
    where = stretches(stations["z_mm"].to_numpy(float), cut, units)
    depth = verdict.largest_cut_mm
    sure = float(correction.decision.sure_mm[_own_row(correction, verdict.largest_cut_at_mm)])
    all_of_it = amount(sure, units) == amount(depth, units)
    deepest = f"PER SIDE{', all of it sure,' if all_of_it else ','} at {deepest_place(correction, units)}"
    surely = f" Sure there: {amount(sure, units)}." if np.isfinite(sure) and not all_of_it else ""
    said = f"{others(depth, units)}; {deepest}. Cut only {where}.{surely}{_as_tabled(correction, units)}"
    return Number(label, amount(depth, units), said)


def _as_tabled(correction: Correction, units: Units) -> str:
    """What the table takes off at most, where its sizes, rounded up, and its places make that another amount."""
    table = for_the_hand(correction.cut_table, units)
    if not len(table):
        return ""
    depth = amount(float(table["removal_mm"].max()), units)
    if depth == amount(correction.verdict.largest_cut_mm, units):
        return ""
    return f" The table's sizes are rounded up and take {depth} at most."


def _move(correction: Correction, units: Units) -> Number:
    """The axial move of the whole bell, which costs no steel, and how much of it is allowed."""
    label, slide = "Move the bell", correction.verdict.slide_mm
    most = correction.job.slide_allowance_mm
    allowed = f"Allowed: {amount(most, units)}." if most >= LEAST_MOVE_MM else "The target allows no move."
    if abs(slide) < LEAST_MOVE_MM:
        return Number(label, "none", f"The bell stays where it is along the axis. {allowed}")
    if slide < 0.0 and is_cut(correction.stations).any():
        how = "the new line is turned that much further toward the rim, as the table has it"
        return Number("Line moved", amount(-slide, units), f"{others(slide, units)}; {how}. {allowed}")
    way = "RIM" if slide > 0.0 else "TAIL"
    how = "by where the flare is set, or the trim line"
    said = f"{others(slide, units)}; whole bell, TOWARD THE {way}, {how}. {allowed}"
    return Number(label, amount(abs(slide), units), said)


def _risk(correction: Correction, units: Units) -> Number:
    """The chance that the next batch is out of tolerance, as things are and when the verdict is followed."""
    label, verdict = "Risk, next batch", correction.verdict
    now, then = unbroken(chance(verdict.chance_out_before)), unbroken(chance(verdict.chance_out_after))
    out = f"that its mean is out somewhere by over {amount(correction.job.tolerance_mm, units)}"
    if now == then:
        return Number(label, now, f"Chance {out}.{_why_risky(verdict)}")
    return Number(label, f"{now} → {then}", f"Chance {out}, now → when this is followed.{_why_risky(verdict)}")


def _why_risky(verdict: Verdict) -> str:
    """What of a risk that stays no steel can mend, so that advice and risk do not gainsay one another."""
    stays, scatter = verdict.chance_out_after, verdict.chance_out_scatter
    if not (stays > _WORTH_A_REASON and np.isfinite(scatter)):
        return ""
    part = unbroken(chance(scatter))
    told = f" On perfect steel it would be {part}: batches scatter, and no steel mends that"
    if stays - scatter <= _WORTH_A_REASON:
        return f"{told}."
    unsure = verdict.verdict in ("slide", "leave", "wait")
    return f"{told}. The rest is {'how little the mean is known yet' if unsure else 'left for later'}."


def _own_row(correction: Correction, z_mm: float) -> int:
    """Which station of the steel stands at `z_mm` [mm]; the rows of the table are up to a millimetre off."""
    return int(np.argmin(np.abs(correction.case.mandrel.z - z_mm)))


def deepest_place(correction: Correction, units: Units) -> str:
    """Where the deepest cut is; empty when nothing is cut."""
    z = correction.verdict.largest_cut_at_mm
    return _where(correction, z, units) if np.isfinite(z) else ""


def _where(correction: Correction, z_mm: float, units: Units) -> str:
    """`z 427.0, Ø 120.1` of the present steel, unbroken at a line's end."""
    diameter = diameter_at(correction.stations, z_mm)
    return f"z\u00a0{place(z_mm, units)}, Ø\u00a0{place(diameter, units)}"
