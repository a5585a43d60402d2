"""The lines under a mandrel's timeline, and the sentences on wear."""

from __future__ import annotations

import math

from springfit.reporting.wording.length_wording import Units, amount, station
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.history import MandrelHistory, Recut
from springfit.watching.wear import Wear

__all__ = ["history_lines", "wear_words"]


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
