"""What the page calls the columns, kinds, datums and stages of the record book."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["COLUMN_WORDS", "DATUM_WORDS", "KIND_WORDS", "STAGE_WORDS", "ReadingWords"]


@dataclass(frozen=True)
class ReadingWords:
    """A kind of reading on the page: its `label`, what it `asks` for, and what it `sets` before."""

    label: str
    asks: str
    sets: str


KIND_WORDS = {
    "outside_diameter": ReadingWords("Outside diameter", "outside diameter", "at station"),
    "inside_diameter": ReadingWords("Inside diameter", "inside diameter", "at station"),
    "axial_at_diameter": ReadingWords("Ring, where it rests", "station where the ring rests", "ring of"),
    "clearance": ReadingWords("Feeler under the bell", "thickest leaf that passes", "at station"),
    "wall": ReadingWords("Wall", "wall", "at station"),
    "steel": ReadingWords("Mandrel", "diameter of the steel", "at station"),
    "target": ReadingWords("Wanted bell", "inside diameter wanted", "at station"),
}

DATUM_WORDS = {
    "tail": "From the tail, pushed back on by hand",
    "witness": "From the scribed line",
    "rim": "From the rim, back to the tail",
    "free": "From nothing: a scan",
}

STAGE_WORDS = {"spun": "As spun", "trimmed": "Trimmed", "beaded": "Beaded", "buffed": "Buffed"}

COLUMN_WORDS = {
    "alloy": "Alloy",
    "anneal": "Anneal",
    "angle_deg": "Angle from the seam",
    "ball_radius": "Radius of its ball",
    "back_passes": "Passes toward the tail",
    "batch_id": "Batch",
    "bell_id": "Bell",
    "blank_rim": "Rim before trimming",
    "bolt_checked": "Bolt checked",
    "draw_end": "Drawing stops at",
    "draw_ring": "Draw ring",
    "fault": "Fault",
    "finish": "Finish of the steel",
    "finished_rim": "Rim after trimming",
    "gauge_id": "Gauge",
    "hump": "Free metal ahead of the tool",
    "in_force_from": "In use from",
    "lot": "Lot of the sheet",
    "lubricant": "Lubricant",
    "mandrel_id": "Mandrel",
    "note": "Note",
    "order_in_batch": "Which of the batch",
    "passes": "Forward passes",
    "repeatability": "How well it repeats (1 sd)",
    "revision": "Revision",
    "slide": "May slide along the axis by",
    "spindle_rpm": "Spindle speed, per minute",
    "spinner": "Spun by",
    "spun_on": "Spun on",
    "station": "How well a station is placed (1 sd)",
    "steel": "Steel",
    "target_id": "Wanted bell",
    "temper": "Temper of the sheet",
    "tolerance": "Tolerance, plus or minus, per side",
    "tool_nose": "Radius of the tool's nose",
    "verdict": "Verdict",
    "wall": "Sheet",
    "what": "What it is",
    "witness_z": "Station of the scribed line",
}
