"""What stands above a page or a column: its unit, and a plain name."""

from __future__ import annotations

from springfit.lengths import split_unit
from springfit.reporting.wording.length_wording import Units

__all__ = ["column_label", "lengths_note", "units_line"]

_UNITS = {"in": "inches (small amounts in thou, 0.001 in)", "mm": "millimetres"}

_LABELS = {
    "read": "check by",
    "mandrel_id": "mandrel",
    "rms": "off, as a rule",
    "diameter": "Ø turn",
    "finish_diameter": "Ø finish",
    "do_not_pass_diameter": "Ø do not pass",
    "removal": "removal per side",
    "growth": "growth per side",
    "reversed": "curve reversed",
    "cut_now_diameter": "Ø cut now",
    "present_diameter": "Ø present",
    "target_diameter": "Ø bell wanted",
    "mandrel_diameter": "Ø mandrel",
    "bell_diameter": "Ø bell inside",
    "need_diameter": "Ø full need",
    "planned_cut": "planned cut",
    "found_cut": "found cut",
    "too_deep": "too deep",
    "bell_planned": "bell error as planned",
    "bell_found": "bell error as found",
    "error": "bell error",
    "sure_removal": "sure removal",
    "bells_error": "bells measured",
    "bells_sd": "bells, 1 sd",
    "error_lo": "low",
    "error_hi": "high",
    "error_steel": "steel",
    "error_springback": "springback",
    "error_unexplained": "unexplained",
    "masked": "not judged",
    "bell_z": "z on the bell",
    "kink_deg": "kink °",
    "kept_share": "bell keeps",
    "wanted_depth": "depth wanted",
    "depth_to_cut": "depth to cut",
    "from_diameter": "from Ø",
    "to_diameter": "to Ø",
    "begins_error": "known to",
    "place_error": "z known to",
    "depth_error": "depth known to",
    "shift_error": "shift known to",
    "found_on": "found on",
    "specimen_id": "original",
    "slope_deg": "slope °",
    "difference_lo": "low",
    "difference_hi": "high",
    "gap_mean_lo": "batch mean, low",
    "gap_mean_hi": "batch mean, high",
}


def units_line(units: Units, *, amounts: str, square: str = "") -> str:
    """The line under every title; `amounts`: what is measured per side, with its verb; `square`: more of that."""
    sides = f"Sizes are DIAMETERS, {amounts} PER SIDE{square}."
    return f"All lengths in {_UNITS[units]}. {sides} z\u00a0runs from the tail (0) to the rim."


def lengths_note(units: Units) -> str:
    """The note above a table."""
    return f"Lengths in {'inches' if units == 'in' else 'mm'}, Ø are diameters."


def column_label(column: str) -> str:
    """A plain label for a column: the name in words, without its unit, which stands above the table."""
    name, _ = split_unit(column)
    return _LABELS.get(name, name.replace("_diameter", " Ø").replace("_", " "))
