"""What must hold between rows and tables: keys, references, revisions by day, profiles, stations on the steel."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import MM_PER_UNIT, from_mm, split_unit
from springfit.records.book import Headers, located, revision_on
from springfit.records.steel import bells_on_steel, steel_ends
from springfit.records.tables import TABLES

__all__ = ["fill_revisions", "key_findings"]

_FEWEST_STATIONS = 8  # of a mandrel's profile from tail to blank rim
_PAST_STEEL_MM = 1.0  # a hand seat (at most 0.8) beyond the last station still lies on the mandrel
_RING_PAST_STEEL_MM = 3.0  # where a ring comes to rest follows the bell, which may stand off the steel

# child table, its columns, parent table: every filled child must be found
_REFERENCES = (
    ("mandrel_profile", ("mandrel_id", "revision"), "mandrels"),
    ("batches", ("mandrel_id",), "mandrels"),
    ("targets", ("mandrel_id",), "mandrels"),
    ("target_profile", ("target_id",), "targets"),
    ("bells", ("batch_id",), "batches"),
    ("measurements", ("bell_id",), "bells"),
    ("measurements", ("gauge_id",), "gauges"),
    ("specimen_points", ("specimen_id",), "specimens"),
    ("specimen_points", ("gauge_id",), "gauges"),
    ("specimen_points", ("mandrel_id", "revision"), "mandrels"),
)

Frames = Mapping[str, pd.DataFrame]


class _Judge:
    """Collects errors at rows of frames."""

    def __init__(self, frames: Frames, headers: Headers) -> None:
        self.frames = frames
        self.headers = headers
        self.findings: list[Finding] = []

    def refuse(
        self, table: str, rows: Iterable[int], column: str | None, what: str, expected: str, remedy: str = ""
    ) -> None:
        for row in rows:
            place = located(self.headers, self.frames[table], row, column)
            self.findings.append(Finding("error", *place, what, expected, remedy))


def fill_revisions(frames: Frames, headers: Headers) -> list[Finding]:
    """Fills `batches.revision` with the one in force on the day; errors where there is none or another is named."""
    judge = _Judge(frames, headers)
    mandrels, batches = frames["mandrels"], frames["batches"]
    _require_dates_in_order(judge)
    known = set(mandrels["mandrel_id"])
    for row in batches.index:
        mandrel, day = batches.at[row, "mandrel_id"], batches.at[row, "spun_on"]
        if mandrel not in known or mandrel is None or pd.isna(day):
            continue
        named = batches.at[row, "revision"]
        in_force = revision_on(mandrels, mandrel, day)
        if in_force is None:
            judge.refuse("batches", [row], "spun_on", f"no revision of mandrel {mandrel!r} is in force on {day.date()}",
                         "a day on or after the first revision's in_force_from")  # fmt: skip
        elif pd.isna(named):
            batches.at[row, "revision"] = float(in_force)
        elif named != in_force and named != revision_on(mandrels, mandrel, day - pd.Timedelta(days=1)):
            # On the day of a change the batch may still have been spun on the steel of the day before.
            judge.refuse("batches", [row], "revision", f"revision {named:.0f} of mandrel {mandrel!r} is not the one "
                         f"in force on {day.date()}", f"revision {in_force}, or blank",
                         "correct the day, the revision, or in_force_from in mandrels")  # fmt: skip
    return judge.findings


def key_findings(frames: Frames, headers: Headers, present: set[str]) -> list[Finding]:
    """Errors between rows and tables; a reference into a table that is not `present` is not followed."""
    judge = _Judge(frames, headers)
    _refuse_repeated_keys(judge)
    for child, columns, parent in _REFERENCES:
        if parent in present:
            _refuse_unknown(judge, child, columns, parent)
    _require_profiles(judge, "mandrels", "mandrel_profile", ["mandrel_id", "revision"], _FEWEST_STATIONS)
    _require_profiles(judge, "targets", "target_profile", ["target_id"], 2)
    _require_gauges(judge, present)
    _require_witness(judge)
    _refuse_impossible_values(judge, "measurements")
    _refuse_impossible_values(judge, "specimen_points")
    _require_stations_on_steel(judge)
    _require_draw_end_on_steel(judge)
    return judge.findings


def _require_dates_in_order(judge: _Judge) -> None:
    """A later revision of a mandrel must come into force on a later day."""
    mandrels = judge.frames["mandrels"].dropna(subset=["mandrel_id", "revision", "in_force_from"])
    for _, rows in mandrels.drop_duplicates(["mandrel_id", "revision"]).groupby("mandrel_id"):
        ordered = rows.sort_values("revision")
        early = ordered.index[1:][np.diff(ordered["in_force_from"].to_numpy()) <= np.timedelta64(0)]
        judge.refuse("mandrels", early, "in_force_from", "the revision is in force no later than the one before it",
                     "a later day for a higher revision")  # fmt: skip


def _refuse_repeated_keys(judge: _Judge) -> None:
    for name, table in TABLES.items():
        if not table.key:
            continue
        frame = judge.frames[name].dropna(subset=list(table.key))
        repeated = frame.index[frame.duplicated(list(table.key))]
        if not len(repeated):
            continue
        first = frame.drop_duplicates(list(table.key)).set_index(list(table.key))[["source_file", "source_row"]]
        for row in repeated:
            key = tuple(frame.loc[row, list(table.key)])
            file, line = first.loc[key if len(key) > 1 else key[0]]
            judge.refuse(name, [row], table.key[-1], f"{_named(key)} stands twice, first at {file}:{line}",
                         f"each {' and '.join(table.key)} once", "take one of the two rows out")  # fmt: skip


def _refuse_unknown(judge: _Judge, child: str, columns: tuple[str, ...], parent: str) -> None:
    frame = judge.frames[child].dropna(subset=list(columns))
    known = judge.frames[parent]
    if len(columns) == 1:
        missing = frame.index[~frame[columns[0]].isin(set(known[columns[0]]))]
    else:
        missing = frame.index[~pd.MultiIndex.from_frame(frame[list(columns)]).isin(
            pd.MultiIndex.from_frame(known[list(columns)].dropna()))]  # fmt: skip
    for row in missing:
        key = tuple(frame.loc[row, list(columns)])
        close = difflib.get_close_matches(str(key[0]), [str(name) for name in set(known[columns[0]]) - {key[0]}], 1)
        remedy = f"is it {close[0]!r}?" if close else f"add it to {parent}"
        judge.refuse(child, [row], columns[-1], f"{_named(key)} is unknown", f"a row of {parent}", remedy)


def _require_profiles(judge: _Judge, table: str, profile: str, key: list[str], fewest: int) -> None:
    """Every row of `table` needs a profile of `fewest` stations, z strictly increasing."""
    stations = judge.frames[profile].dropna(subset=[*key, "z_mm"])
    count = stations.groupby(key).size()
    rows = judge.frames[table].dropna(subset=key)
    for row in rows.index:
        name = tuple(rows.loc[row, key])
        found = int(count.get(name if len(name) > 1 else name[0], 0))
        if found < fewest:
            judge.refuse(table, [row], key[-1], f"{_named(name)} has {found} stations in {profile}",
                         f"at least {fewest} from tail to rim", f"add them to {profile}")  # fmt: skip
    for _, one in stations.drop_duplicates([*key, "z_mm"]).groupby(key):
        back = one.index[1:][np.diff(one["z_mm"].to_numpy()) <= 0]
        judge.refuse(profile, back, "z_mm", "z does not increase from the row before",
                     "stations in order from the tail to the rim")  # fmt: skip


def _require_gauges(judge: _Judge, present: set[str]) -> None:
    """A reading without a gauge has no known error, and there is no default for it."""
    readings = judge.frames["measurements"]
    blank = readings.index[readings["gauge_id"].isna()]
    judge.refuse("measurements", blank, "gauge_id", "the reading names no gauge, so its error is unknown",
                 "a gauge_id of the table gauges",
                 "add the gauge with its repeatability and station error to gauges, and name it here")  # fmt: skip
    named = readings.index[readings["gauge_id"].notna()]
    if "gauges" not in present and len(named):
        judge.refuse("measurements", named[:1], "gauge_id", "gauges are named, but the table gauges is missing",
                     "gauges.csv with gauge_id, repeatability and station", "add the table gauges")  # fmt: skip


def _require_witness(judge: _Judge) -> None:
    """A reading set from the scribed line needs the line's station."""
    readings, bells = judge.frames["measurements"], judge.frames["bells"]
    blank = set(bells["bell_id"][bells["witness_z_mm"].isna()])
    rows = readings.index[(readings["datum"] == "witness") & readings["bell_id"].isin(blank)]
    judge.refuse("measurements", rows, "datum", "the reading counts from the scribed line, whose station is not known",
                 "witness_z in the bell's row of bells", "fill it in, or give the datum that was used")  # fmt: skip


def _refuse_impossible_values(judge: _Judge, table: str) -> None:
    readings = judge.frames[table]
    sizes = (readings["kind"] != "clearance") & (readings["value_mm"] <= 0)
    judge.refuse(table, readings.index[sizes], "value_mm", "the value is not above zero", "a size above zero")
    leaves = (readings["kind"] == "clearance") & (readings["value_mm"] < 0)
    judge.refuse(table, readings.index[leaves], "value_mm", "the clearance is below zero",
                 "0 (the thinnest leaf does not pass) or more")  # fmt: skip
    walls = (readings["kind"] == "wall") & (readings["value_mm"] > 5)
    judge.refuse(table, readings.index[walls], "value_mm", "the wall is impossible", "a wall below 5 mm (0.2 in)",
                 "was it typed in another unit, or is it a diameter?")  # fmt: skip


def _require_stations_on_steel(judge: _Judge) -> None:
    """No reading may be taken where the bell's mandrel has no steel."""
    readings = judge.frames["measurements"]
    steel = bells_on_steel(judge.frames["batches"], judge.frames["bells"])
    ends = steel_ends(judge.frames["mandrel_profile"])
    pairs = zip(steel["mandrel_id"], steel["revision"], strict=True)
    low_high = np.array([ends.get(pair, (np.nan, np.nan)) for pair in pairs], dtype=float).reshape(-1, 2)
    place = steel.index.get_indexer(pd.Index(readings["bell_id"].to_numpy(dtype=object)))
    limits = np.full((len(readings), 2), np.nan)
    limits[place >= 0] = low_high[place[place >= 0]]
    low, high = limits.T
    rim = (readings["datum"] == "rim").to_numpy()
    low, high = np.where(rim, 0.0, low), np.where(rim, high - low, high)
    margin = np.where(readings["kind"] == "axial_at_diameter", _RING_PAST_STEEL_MM, _PAST_STEEL_MM)
    z = readings["z_mm"].to_numpy(float)
    free = (readings["datum"] == "free").to_numpy()
    with np.errstate(invalid="ignore"):
        off = ~free & ((z < low - margin) | (z > high + margin))
    for row in np.flatnonzero(off):
        label = readings.index[row]
        unit = _unit_of(judge, label)
        said, *ends_said = (f"{from_mm(mm, unit):.6g}" for mm in (z[row], low[row], high[row]))
        judge.refuse("measurements", [label], "z_mm", f"the station {said} {unit} is past the steel of the bell's mandrel",
                     f"{ends_said[0]} to {ends_said[1]} {unit}",
                     _other_unit(float(z[row]), unit, low[row], high[row]))  # fmt: skip


def _require_draw_end_on_steel(judge: _Judge) -> None:
    batches = judge.frames["batches"]
    ends = steel_ends(judge.frames["mandrel_profile"])
    for row in batches.index:
        high = ends.get((batches.at[row, "mandrel_id"], batches.at[row, "revision"]), (np.nan, np.nan))[1]
        if batches.at[row, "draw_end_mm"] > high + _PAST_STEEL_MM:
            judge.refuse("batches", [row], "draw_end_mm", "the draw ends past the steel of the batch's mandrel",
                         f"at most {high:.6g} mm")  # fmt: skip


def _unit_of(judge: _Judge, row: int) -> str:
    """Unit of the z column in the file that the reading stands in."""
    file = judge.frames["measurements"].at[row, "source_file"]
    return split_unit(judge.headers.get((file, "z_mm"), "z_mm"))[1] or "mm"


def _other_unit(z: float, unit: str, low: float, high: float) -> str:
    typed = from_mm(z, unit)
    fits = [other for other in MM_PER_UNIT if other != unit and low <= typed * MM_PER_UNIT[other] <= high]
    return f"it would lie on the steel in {' or '.join(fits)}: was it typed in another unit?" if fits else ""


def _named(key: tuple) -> str:
    """A key as a person would say it."""
    return " ".join(f"{part:.6g}" if isinstance(part, float) else repr(part) for part in key)
