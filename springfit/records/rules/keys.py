"""What must hold between rows and tables: keys, references, complete profiles, gauges, the scribed line."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.records.book import Headers
from springfit.records.rules.error_collector import Frames, Judge
from springfit.records.tables import TABLES

__all__ = ["key_findings"]

_FEWEST_STATIONS = 8  # of a mandrel's profile from tail to blank rim

_MOST_GUESSES = 20  # unknown names for which a like one is looked for

# child table, its columns, parent table: every filled child must be found
_REFERENCES = (
    ("mandrel_profile", ["mandrel_id", "revision"], "mandrels"),
    ("batches", ["mandrel_id"], "mandrels"),
    ("targets", ["mandrel_id"], "mandrels"),
    ("target_profile", ["target_id"], "targets"),
    ("bells", ["batch_id"], "batches"),
    ("measurements", ["bell_id"], "bells"),
    ("measurements", ["gauge_id"], "gauges"),
    ("specimen_points", ["specimen_id"], "specimens"),
    ("specimen_points", ["gauge_id"], "gauges"),
    ("specimen_points", ["mandrel_id", "revision"], "mandrels"),
)


def key_findings(frames: Frames, headers: Headers, whole: set[str]) -> list[Finding]:
    """Errors between rows and tables; what a table that is not `whole` may hold is not missed."""
    judge = Judge(frames, headers)
    _refuse_repeated_keys(judge)
    for child, columns, parent in _REFERENCES:
        if parent in whole:
            _refuse_unknown(judge, child, columns, parent)
    if "mandrel_profile" in whole:
        _require_profiles(judge, "mandrels", "mandrel_profile", ["mandrel_id", "revision"], _FEWEST_STATIONS)
    _require_profiles(judge, "targets", "target_profile", ["target_id"], 2)
    _require_gauges(judge)
    _require_witness(judge)
    _require_mandrel_of_clearance(judge)
    return judge.findings


def _refuse_repeated_keys(judge: Judge) -> None:
    for name, table in TABLES.items():
        key = list(table.key)
        frame = judge.frames[name].dropna(subset=key)
        repeated: Any = frame.index[frame.duplicated(key)] if key else ()
        if not len(repeated):
            continue
        first = frame.drop_duplicates(key).set_index(key)[["source_file", "source_row"]]
        for row in repeated:
            named = tuple(frame.loc[row, key])
            file, line = first.loc[named if len(key) > 1 else named[0]]
            what = f"{_named(named)} stands twice, first at {file}:{line}"
            judge.refuse(name, [row], key[-1], what, f"each {' and '.join(key)} once", "take one row out")


def _refuse_unknown(judge: Judge, child: str, columns: list[str], parent: str) -> None:
    frame = judge.frames[child].dropna(subset=columns)
    known = set(_keys(judge.frames[parent], columns))
    names = sorted({str(name[0]) for name in known})
    remedies: dict[tuple, str] = {}
    for row, key in zip(frame.index, _keys(frame, columns), strict=True):
        if key in known:
            continue
        if key not in remedies:
            # Looking for like names is slow, and of no use to one who has forgotten a whole table.
            close = difflib.get_close_matches(str(key[0]), names, 1) if len(remedies) < _MOST_GUESSES else []
            remedies[key] = f"is it {close[0]!r}?" if close and close[0] != key[0] else f"add it to {parent}"
        what = f"{_named(key)} is unknown"
        judge.refuse(child, [row], columns[-1], what, f"a row of {parent}", remedies[key])


def _keys(frame: pd.DataFrame, columns: list[str]) -> Iterable[tuple]:
    return zip(*(frame[column].tolist() for column in columns), strict=True)


def _require_profiles(judge: Judge, table: str, profile: str, key: list[str], fewest: int) -> None:
    """Every row of `table` needs a profile of at least `fewest` stations, z strictly increasing."""
    stations = judge.frames[profile].dropna(subset=[*key, "z_mm"])
    by_name = {name: one for name, one in stations.drop_duplicates([*key, "z_mm"]).groupby(key)}
    rows = judge.frames[table].dropna(subset=key)
    for row, name in zip(rows.index, _keys(rows, key), strict=True):
        found = len(by_name.get(name, ()))
        if found < fewest:
            judge.refuse(
                table,
                [row],
                key[-1],
                f"{_named(name)} has {found} stations in {profile}",
                f"at least {fewest} from tail to rim",
                f"add them to {profile}",
            )
    for one in by_name.values():
        back = one.index[1:][np.diff(one["z_mm"].to_numpy()) <= 0]
        what = "z does not increase from the row before"
        judge.refuse(profile, back, "z_mm", what, "stations in order from the tail to the rim")


def _require_gauges(judge: Judge) -> None:
    """A reading without a gauge has no known error, and there is no default for it."""
    readings = judge.frames["measurements"]
    named = readings["gauge_id"].notna()
    with_column = {file for file, column in judge.headers if column == "gauge_id"}
    blank = readings.index[~named & readings["source_file"].isin(with_column)]
    judge.refuse(
        "measurements",
        blank,
        "gauge_id",
        "the reading names no gauge, so its error is unknown",
        "a gauge_id of the table gauges",
        "add the gauge with its repeatability and station to gauges, and name it here",
    )


def _require_witness(judge: Judge) -> None:
    """A reading set from the scribed line needs the line's station."""
    readings, bells = judge.frames["measurements"], judge.frames["bells"]
    blank = set(bells["bell_id"][bells["witness_z_mm"].isna()])
    rows = readings.index[(readings["datum"] == "witness") & readings["bell_id"].isin(blank)]
    judge.refuse(
        "measurements",
        rows,
        "datum",
        "the reading counts from a scribed line of unknown station",
        "witness_z in the bell's row of bells",
        "fill it in, or give the datum that was used",
    )


def _require_mandrel_of_clearance(judge: Judge) -> None:
    """An original's clearance says something only beside the mandrel it was set on."""
    points = judge.frames["specimen_points"]
    nowhere = points["mandrel_id"].isna() | points["revision"].isna()
    rows = points.index[(points["kind"] == "clearance") & nowhere]
    judge.refuse(
        "specimen_points",
        rows,
        "mandrel_id",
        "a clearance names no mandrel and revision",
        "the mandrel_id and revision that the original was set on",
    )


def _named(key: tuple) -> str:
    """A key as a person would say it."""
    return " ".join(f"{part:.6g}" if isinstance(part, float) else repr(part) for part in key)
