"""The lines under a mandrel's timeline, and the sentences on wear and gauges."""

from __future__ import annotations

import math

from springfit.lengths import from_mm
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import Units, amount, small_unit, station
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.gauges.measured_gauges import MeasuredGauge, SmallestChange
from springfit.watching.history import MandrelHistory, Recut
from springfit.watching.wear import Wear

__all__ = ["change_words", "gauge_sheet", "history_lines", "wear_words"]

_BY = {
    "repeats": "readings taken twice at one place",
    "fit": "how far readings lie from their bells' curves; no place was read twice",
    "stated": "nothing but its own row: read some places twice",
}


def history_lines(history: MandrelHistory, steel: SteelLine | None, units: Units) -> tuple[str, ...]:
    """What happened to a mandrel, oldest first, and what its steel shows."""
    lines = [_revision(one, units) for one in history.revisions]
    lines += [f"{one.written[:10]}: a report said {one.verdict.replace('_', ' ')} of revision {one.revision}."
              for one in history.verdicts]  # fmt: skip
    lines += [wear_words(one, steel, units) for one in history.wear]
    if not history.batches:
        lines.append("No bell of it was measured yet.")
    return tuple(lines)


def _revision(one: Recut, units: Units) -> str:
    said = f"{one.day}: revision {one.revision}" + (f", {one.finish.replace('_', ' ')}" if one.finish else "")
    if math.isfinite(one.found):
        moved = "taken off" if one.found > 0 else "put on"
        said += f"; {amount(abs(one.found), units)} {moved} at most" if one.found else "; measured again, nothing cut"
    if math.isfinite(one.ordered):
        said += f", {amount(one.ordered, units)} was ordered"
    return f"{said}. {one.note[:1].upper()}{one.note[1:]}{'.' if one.note else ''}".strip()


def wear_words(one: Wear, steel: SteelLine | None, units: Units) -> str:
    """One worn or scarred place: measure the mandrel again before anything is made of it."""
    z = float(steel.z_at(one.arc)) if steel is not None else one.arc
    size = f"{amount(one.change, units, signed=True)} ± {amount(one.change_sd, units)} per side"
    if one.kind == "trim_scar":
        since = f"since batch {one.since}: {size}. Look at the steel by the trim line."
        return f"A narrow ring at {station(z, units)} {since}"
    kind = "A facet is worn" if one.kind == "worn_facet" else "The steel is worn"
    return f"{kind} at {station(z, units)}: {size} over {one.bells} bells. Measure the mandrel again there first."


def gauge_sheet(gauges: tuple[MeasuredGauge, ...], units: Units) -> Sheet:
    """The gauges as the readings find them, with the row to write down for each."""
    head = ("gauge", "readings", "stated sd", "found sd", "90 % band", "repeats", "row to write", "by")
    body = []
    for one in gauges:
        band = f"{_fine(one.low, units)} to {_fine(one.high, units)}" if one.repeats else ""
        found = one.repeatability if one.repeats else one.stated * one.scale
        body.append((
            one.gauge_id, str(one.readings), _fine(one.stated, units), _fine(found, units), band,
            str(one.repeats), _fine(one.suggested, units), _BY[one.by],
        ))  # fmt: skip
    note = f"In {small_unit(units)}, 1 sd of one reading. Who read is not in the book, so hands are not told apart."
    return Sheet("What the readings say of the gauges", note, head, tuple(body))


def _fine(value_mm: float, units: Units) -> str:
    """A gauge's sd, a digit finer than an amount."""
    return f"{from_mm(value_mm, small_unit(units)):.{2 if units == 'in' else 4}f}"


def change_words(changes: tuple[SmallestChange, ...], units: Units) -> str:
    """The smallest change that the shop's measuring can see, zone by zone."""
    if not changes:
        return ""
    said = ", ".join(f"{one.zone} {amount(one.change, units)}" for one in changes)
    return f"Smallest change of a batch's mean that the measuring shows nine times in ten: {said}."
