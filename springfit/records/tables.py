"""What a record book may hold: every table, column, unit, choice and possible range, declared once.

Ranges are in mm (lengths) or in the number's own unit. `low` and `high` bound what is *possible*: an error.
`usual` bounds what shops write down: a doubt, and a way to tell a wrong unit by name.
"""

from __future__ import annotations

from springfit.records.columns import Column, Reference, Table
from springfit.records.reading_kinds import DATUMS, KINDS

__all__ = ["CONDITIONS", "FEWEST_STATIONS", "PROFILE", "REFERENCES", "TABLES"]

_UNS = r"[A-Z]\d{5}"  # unified numbering system: a letter and five figures, C26000
_TEMPER = r"(OS?\d{2,3}|H\d{2}|HR\d{2}|M\d{2})"  # ASTM B601: OS035 grain size, O61 annealed, H01 rolled ...


def _id(name: str, *, filled: bool = False, meaning: str = "") -> Column:
    return Column(name, "id", filled=filled, meaning=meaning)


def _choice(name: str, *choices: str, filled: bool = False, meaning: str = "") -> Column:
    return Column(name, "choice", filled=filled, choices=choices, meaning=meaning)


def _length(
    name: str,
    low: float,
    high: float,
    *,
    filled: bool = False,
    present: bool = False,
    usual: tuple[float, float] | None = None,
    meaning: str = "",
    blank: float | None = None,
) -> Column:
    return Column(
        name, "length", filled=filled, present=present, low=low, high=high, usual=usual, meaning=meaning,
        blank_stands_for=blank,
    )  # fmt: skip


def _whole(name: str, high: int, *, filled: bool = False, meaning: str = "") -> Column:
    return Column(name, "whole", filled=filled, low=0, high=high, meaning=meaning)


_NOTE = Column("note", "text")
_WALLS = (0.25, 1.3)  # mm, sheet that shops spin bells from
_RIMS = (60.0, 600.0)  # mm, finished rims
_Z = _length("z", -50, 3000, filled=True, meaning="station along the axis")
_DIAMETER = _length("diameter", 0.5, 2000, filled=True, usual=(4.0, 700.0))

_CONDITION_COLUMNS = (
    Column("alloy", "text", filled=True, pattern=_UNS, meaning="UNS number, such as C26000"),
    Column("temper", "text", pattern=_TEMPER, meaning="ASTM B601 code, such as OS035 or H01"),
    Column("lot", "text", meaning="the sheet's lot"),
    _length("wall", 0.05, 5, present=True, usual=_WALLS, meaning="thickness of the blank sheet"),
    _choice("anneal", "full", "partial", "none"),
    _length("draw_end", 0, 3000, meaning="station where drawing stops; 0 = not drawn"),
    Column("draw_ring", "text"),
    _whole("passes", 500, filled=True, meaning="forward passes"),
    _whole("back_passes", 500, meaning="passes toward the tail while clamped"),
    _choice("hump", "none", "low", "good", "high", meaning="free metal left ahead of the tool"),
    _choice("bolt_checked", "yes", "no"),
    _length("tool_nose", 0.1, 500, usual=(1.0, 60.0), meaning="radius of the tool's nose"),
    Column("spindle_rpm", "number", low=1, high=20000),
    Column("lubricant", "text"),
    Column("spinner", "text", meaning="who spun it"),
    _length("blank_rim", 1, 2000, usual=_RIMS, meaning="rim diameter before trimming"),
    _length("finished_rim", 1, 2000, usual=_RIMS, meaning="rim diameter after trimming"),
)

_ALL = (
    Table(
        "mandrels",
        (
            _id("mandrel_id", filled=True),
            _whole(
                "revision", 999, filled=True, meaning="0, 1, 2 ...: every recut, polish or re-measurement"
            ),
            Column("in_force_from", "date", filled=True),
            _choice("finish", "bare", "plated_matte", "plated_bright"),
            Column("steel", "text"),
            _NOTE,
        ),
        key=("mandrel_id", "revision"),
        required=True,
    ),
    Table(
        "mandrel_profile",
        (_id("mandrel_id", filled=True), _whole("revision", 999, filled=True), _Z, _DIAMETER),
        key=("mandrel_id", "revision", "z_mm"),
        required=True,
    ),
    Table(
        "targets",
        (
            _id("target_id", filled=True),
            _id("mandrel_id"),
            _length("tolerance", 0.0001, 20, filled=True, usual=(0.005, 1.0), meaning="± normal, per side"),
            _length(
                "slide", 0, 200, meaning="how far the shape may move along the axis; blank = 0", blank=0.0
            ),
            _NOTE,
        ),
        key=("target_id",),
    ),
    Table(
        "target_profile",
        (_id("target_id", filled=True), _Z, _DIAMETER),
        key=("target_id", "z_mm"),
    ),
    Table(
        "batches",
        (
            _id("batch_id", filled=True),
            Column("spun_on", "date", filled=True),
            _id("mandrel_id", filled=True),
            _whole("revision", 999, meaning="blank: the one in force on that day"),
            *_CONDITION_COLUMNS,
            _NOTE,
        ),
        key=("batch_id",),
        required=True,
    ),
    Table(
        "bells",
        (
            _id("bell_id", filled=True),
            _id("batch_id", filled=True),
            _whole("order_in_batch", 100000),
            _length("wall", 0.05, 5, usual=_WALLS, meaning="this bell's own wall"),
            _length("witness_z", -50, 3000, meaning="mandrel station of the line scribed before release"),
            _choice("verdict", "good", "rework", "scrap"),
            Column("fault", "text"),
            _NOTE,
        ),
        key=("bell_id",),
        required=True,
    ),
    Table(
        "measurements",
        (
            _id("bell_id", filled=True),
            _choice("stage", "spun", "trimmed", "beaded", "buffed", filled=True),
            _choice("kind", *KINDS, filled=True),
            _choice("datum", *DATUMS, filled=True),
            _length("z", -3000, 3000, filled=True, meaning="station, or the reading of axial_at_diameter"),
            _length(
                "value", -1, 2000, filled=True, meaning="the reading; for axial_at_diameter the ring's size"
            ),
            Column("angle_deg", "number", low=-360, high=720, meaning="from the seam"),
            Column("gauge_id", "id", present=True),
        ),
        required=True,
    ),
    Table(
        "gauges",
        (
            _id("gauge_id", filled=True),
            Column("what", "text"),
            _length("repeatability", 1e-5, 5, filled=True, usual=(0.0005, 0.3), meaning="1 sd of a value"),
            _length("station", 0, 20, filled=True, usual=(0.0, 3.0), meaning="1 sd of placing z"),
            _length("ball_radius", 0, 20, meaning="of a tracing stylus; blank = 0", blank=0.0),
        ),
        key=("gauge_id",),
    ),
    Table(
        "specimens",
        (
            _id("specimen_id", filled=True),
            _id("family", filled=True),
            Column("trust", "number", low=0, high=1, meaning="0 to 1, blank = 1", blank_stands_for=1.0),
            _length("wall", 0.05, 5, usual=_WALLS),
            _NOTE,
        ),
        key=("specimen_id",),
    ),
    Table(
        "specimen_points",
        (
            _id("specimen_id", filled=True),
            _choice("kind", *(name for name, kind in KINDS.items() if kind.of_specimen), filled=True),
            _Z,
            _length("value", -1, 2000, filled=True),
            _id("gauge_id"),
            _id("mandrel_id"),
            _whole("revision", 999),
        ),
    ),
)

TABLES: dict[str, Table] = {table.name: table for table in _ALL}
CONDITIONS = Table("conditions", (_id("name"), *_CONDITION_COLUMNS))
PROFILE = Table("profile", (_Z, _DIAMETER))
FEWEST_STATIONS = 8  # of a mandrel from tail to blank rim, as the record book asks: fewer cannot show a flare

# Every filled child must be found; batches name a revision only if they like, so not as a key of two columns.
REFERENCES = (
    Reference("mandrel_profile", ("mandrel_id", "revision"), "mandrels"),
    Reference("batches", ("mandrel_id",), "mandrels"),
    Reference("targets", ("mandrel_id",), "mandrels"),
    Reference("target_profile", ("target_id",), "targets"),
    Reference("bells", ("batch_id",), "batches"),
    Reference("measurements", ("bell_id",), "bells"),
    Reference("measurements", ("gauge_id",), "gauges"),
    Reference("specimen_points", ("specimen_id",), "specimens"),
    Reference("specimen_points", ("gauge_id",), "gauges"),
    Reference("specimen_points", ("mandrel_id", "revision"), "mandrels"),
)
