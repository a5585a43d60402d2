"""What a record book may hold: every table, column, unit, choice and possible range, declared once.

Ranges are in mm (lengths) or in the number's own unit. `low` and `high` bound what is *possible*: an error.
`usual` bounds what shops write down: a doubt, and a way to tell a wrong unit by name.
"""

from __future__ import annotations

from springfit.records.columns import (
    Column,
    Reference,
    Table,
    choice_column,
    id_column,
    length_column,
    whole_column,
)
from springfit.records.reading_kinds import DATUMS, KINDS

__all__ = ["CONDITIONS", "FEWEST_STATIONS", "PROFILE", "REFERENCES", "TABLES"]

_TEMPER = r"(OS?\d{2,3}|H\d{2}|HR\d{2}|M\d{2})"  # ASTM B601: OS035 grain size, O61 annealed, H01 rolled ...


_NOTE = Column("note", "text", meaning="anything worth knowing; nothing is computed from it")
# Limits of a column lie far past any bell, and past them a value is an error; past its `usual` ones it is a doubt. All
# are assumed: `usual` from the sizes to expect (walls 0.3 to 0.8 mm, rims 90 to 400 mm), with room for all but the odd.
_WALLS = (0.25, 1.3)  # mm, sheet that shops spin bells from
_RIMS = (60.0, 600.0)  # mm, finished rims
_Z = length_column("z", -50, 3000, filled=True, meaning="station along the axis")
_DIAMETER = length_column(
    "diameter", 0.5, 2000, filled=True, usual=(4.0, 700.0), meaning="full diameter there, not the radius"
)

_CONDITION_COLUMNS = (
    Column(
        "alloy", "alloy", filled=True,
        meaning="UNS number, such as C26000, a common name such as 70/30 brass, or of another metal its modulus and "
        "yield when annealed: E 103 GPa, yield 140 MPa",
    ),
    Column("temper", "text", pattern=_TEMPER, meaning="ASTM B601 code, such as OS035 or H01"),
    Column("lot", "text", meaning="the sheet's lot or delivery: bells of one lot are alike"),
    length_column("wall", 0.05, 5, present=True, usual=_WALLS, meaning="thickness of the blank sheet"),
    choice_column(
        "anneal", "full", "partial", "none",
        meaning="how the sheet or preform was softened before the last spinning",
    ),
    length_column("draw_end", 0, 3000, meaning="station where the drawn part ends and spinning begins; 0 = not drawn"),
    Column(
        "draw_ring", "text",
        meaning="which ring or die the tail was drawn through, by your own name for it, such as nylon",
    ),
    whole_column("passes", 500, meaning="how many passes of the tool from the tail toward the rim"),
    whole_column("back_passes", 500, meaning="passes toward the tail while clamped: they may swell the throat"),
    choice_column("hump", "none", "low", "good", "high", meaning="free metal left standing ahead of the tool"),
    choice_column("bolt_checked", "yes", "no", meaning="whether the bolt that holds the bell was looked at"),
    length_column("tool_nose", 0.1, 500, usual=(1.0, 60.0), meaning="radius of the tool's nose"),
    Column("spindle_rpm", "number", low=1, high=20000, meaning="turns of the lathe a minute"),
    Column("lubricant", "text", meaning="what the tool slid on, such as tallow or soap"),
    Column("spinner", "text", meaning="who spun it: hands differ"),
    length_column("blank_rim", 1, 2000, usual=_RIMS, meaning="rim diameter before trimming"),
    length_column("finished_rim", 1, 2000, usual=_RIMS, meaning="rim diameter after trimming"),
)  # fmt: skip

_ALL = (
    Table(
        "mandrels",
        (
            id_column("mandrel_id", filled=True),
            whole_column("revision", 999, filled=True, meaning="0, 1, 2 ...: every recut, polish or re-measurement"),
            Column(
                "in_force_from", "date", filled=True,
                meaning="first day that bells were spun on this state of the steel",
            ),
            choice_column(
                "finish", "bare", "plated_matte", "plated_bright",
                meaning="surface of the mandrel: plating adds to it",
            ),
            Column("steel", "text", meaning="what the mandrel is made of"),
            _NOTE,
        ),
        key=("mandrel_id", "revision"),
        required=True,
    ),
    Table(
        "mandrel_profile",
        (
            id_column("mandrel_id", filled=True),
            whole_column("revision", 999, filled=True, meaning="as in mandrels"),
            _Z,
            _DIAMETER,
        ),
        key=("mandrel_id", "revision", "z_mm"),
        required=True,
    ),
    Table(
        "targets",
        (
            id_column("target_id", filled=True),
            id_column("mandrel_id"),
            length_column("tolerance", 0.0001, 20, filled=True, usual=(0.005, 1.0), meaning="± normal, per side"),
            length_column("slide", 0, 200, meaning="how far the shape may move along the axis; blank = 0", blank=0.0),
            _NOTE,
        ),
        key=("target_id",),
    ),
    Table(
        "target_profile",
        (id_column("target_id", filled=True), _Z, _DIAMETER),
        key=("target_id", "z_mm"),
    ),
    Table(
        "batches",
        (
            id_column("batch_id", filled=True),
            Column(
                "spun_on", "date", filled=True,
                meaning="the day: it tells which revision of the steel was on the lathe",
            ),
            id_column("mandrel_id", filled=True),
            whole_column("revision", 999, meaning="blank: the one in force on that day"),
            *_CONDITION_COLUMNS,
            _NOTE,
        ),
        key=("batch_id",),
        required=True,
    ),
    Table(
        "bells",
        (
            id_column("bell_id", filled=True),
            id_column("batch_id", filled=True),
            whole_column("order_in_batch", 100000, meaning="1 for the first bell of the batch, 2, 3 ..."),
            length_column("wall", 0.05, 5, usual=_WALLS, meaning="this bell's own wall"),
            length_column("witness_z", -50, 3000, meaning="mandrel station of the line scribed before release"),
            choice_column("verdict", "good", "rework", "scrap", meaning="what became of the bell"),
            Column("fault", "text", meaning="what was wrong with it, in your own words"),
            _NOTE,
        ),
        key=("bell_id",),
        required=True,
    ),
    Table(
        "measurements",
        (
            id_column("bell_id", filled=True),
            choice_column(
                "stage", "spun", "trimmed", "beaded", "buffed", filled=True,
                meaning="how far the bell was finished when it was read",
            ),
            choice_column(
                "kind", *KINDS, filled=True, meaning="what was read: which surface, or the clearance to the steel"
            ),
            choice_column("datum", *DATUMS, filled=True, meaning="what z = 0 was tied to"),
            length_column("z", -3000, 3000, filled=True, meaning="station, or the reading of axial_at_diameter"),
            length_column(
                "value", -1, 2000, filled=True, meaning="the reading; for axial_at_diameter the ring's size"
            ),
            Column(
                "angle_deg", "number", low=-360, high=720, meaning="where round the bell, in degrees from the seam"
            ),
            Column("gauge_id", "id", present=True, meaning="the gauge it was read with, a row of gauges"),
        ),
        required=True,
    ),
    Table(
        "gauges",
        (
            id_column("gauge_id", filled=True),
            Column("what", "text", meaning="what gauge it is, such as dial caliper or feeler leaves"),
            length_column(
                "repeatability", 1e-5, 5, usual=(0.0005, 0.3), meaning="1 sd of a value; blank: usual of its kind"
            ),
            length_column("station", 0, 20, usual=(0.0, 3.0), meaning="1 sd of placing z; blank: usual of its kind"),
            length_column("ball_radius", 0, 20, meaning="of a tracing stylus; blank = 0", blank=0.0),
        ),
        key=("gauge_id",),
    ),
    Table(
        "specimens",
        (
            id_column("specimen_id", filled=True),
            id_column("family", filled=True, meaning="originals of one family are surveyed together"),
            Column("trust", "number", low=0, high=1, meaning="0 to 1, blank = 1", blank_stands_for=1.0),
            length_column("wall", 0.05, 5, usual=_WALLS, meaning="thickness of the original"),
            _NOTE,
        ),
        key=("specimen_id",),
    ),
    Table(
        "specimen_points",
        (
            id_column("specimen_id", filled=True),
            choice_column(
                "kind", *(name for name, kind in KINDS.items() if kind.of_specimen), filled=True,
                meaning="what was read",
            ),
            _Z,
            length_column("value", -1, 2000, filled=True, meaning="the reading, a diameter or a clearance"),
            id_column("gauge_id"),
            id_column("mandrel_id"),
            whole_column("revision", 999, meaning="of that mandrel"),
        ),
    ),
)  # fmt: skip

TABLES: dict[str, Table] = {table.name: table for table in _ALL}
CONDITIONS = Table("conditions", (id_column("name"), *_CONDITION_COLUMNS))
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
