"""What must hold between rows and tables: keys, references, complete profiles, gauges, the scribed line."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.records.book import Headers
from springfit.records.columns import Reference
from springfit.records.rules.error_collector import ErrorCollector, Frames, filled_rows
from springfit.records.tables import FEWEST_STATIONS, REFERENCES, TABLES

__all__ = ["key_findings"]

_MOST_GUESSES = 20  # unknown names for which a like one is looked for: more than 20 slips of the pen are no slips


def key_findings(frames: Frames, headers: Headers, whole: set[str]) -> list[Finding]:
    """Errors between rows and tables; what a table that is not `whole` may hold is not missed."""
    errors = ErrorCollector(frames, headers)
    _refuse_repeated_keys(errors)
    for reference in REFERENCES:
        if reference.parent in whole:
            _refuse_unknown(errors, reference)
    if "mandrel_profile" in whole:
        _require_profiles(errors, "mandrels", "mandrel_profile", ["mandrel_id", "revision"], FEWEST_STATIONS)
    _require_profiles(errors, "targets", "target_profile", ["target_id"], 2)
    _require_gauges(errors)
    _require_witness(errors)
    _require_mandrel_of_clearance(errors)
    return errors.findings


def _refuse_repeated_keys(errors: ErrorCollector) -> None:
    for name, table in TABLES.items():
        key = list(table.key)
        frame = filled_rows(errors.frames[name], key)
        repeated: Any = frame.index[frame.duplicated(key)] if key else ()
        if not len(repeated):
            continue
        first = frame.drop_duplicates(key).set_index(key)[["source_file", "source_row"]]
        for row in repeated:
            named = tuple(frame.loc[row, key])
            file, line = first.loc[named if len(key) > 1 else named[0]]
            what = f"{_named(named)} stands twice, first at {file}:{line}"
            errors.refuse(name, [row], key[-1], what, f"each {' and '.join(key)} once", "take one row out")


def _refuse_unknown(errors: ErrorCollector, reference: Reference) -> None:
    child, columns, parent = reference.child, list(reference.columns), reference.parent
    frame = filled_rows(errors.frames[child], columns)
    known = set(_keys(errors.frames[parent], columns))
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
        errors.refuse(child, [row], columns[-1], what, f"a row of {parent}", remedies[key])


def _keys(frame: pd.DataFrame, columns: list[str]) -> Iterable[tuple]:
    return zip(*(frame[column].tolist() for column in columns), strict=True)


def _require_profiles(errors: ErrorCollector, table: str, profile: str, key: list[str], fewest: int) -> None:
    """Every row of `table` needs a profile of at least `fewest` stations, z strictly increasing."""
    stations = filled_rows(errors.frames[profile], [*key, "z_mm"])
    by_name = {name: one for name, one in stations.drop_duplicates([*key, "z_mm"]).groupby(key)}
    rows = filled_rows(errors.frames[table], key)
    for row, name in zip(rows.index, _keys(rows, key), strict=True):
        found = len(by_name.get(name, ()))
        if found < fewest:
            errors.refuse(
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
        errors.refuse(profile, back, "z_mm", what, "stations in order from the tail to the rim")


def _require_gauges(errors: ErrorCollector) -> None:
    """A reading without a gauge has no known error, and there is no default for it."""
    readings = errors.frames["measurements"]
    named = readings["gauge_id"].notna()
    with_column = {file for file, column in errors.headers if column == "gauge_id"}
    blank = readings.index[~named & readings["source_file"].isin(with_column)]
    errors.refuse(
        "measurements",
        blank,
        "gauge_id",
        "the reading names no gauge, so its error is unknown",
        "a gauge_id of the table gauges",
        "add the gauge with its repeatability and station to gauges, and name it here",
    )


def _require_witness(errors: ErrorCollector) -> None:
    """A reading set from the scribed line needs the line's station."""
    readings, bells = errors.frames["measurements"], errors.frames["bells"]
    blank = set(bells["bell_id"][bells["witness_z_mm"].isna()])
    rows = readings.index[(readings["datum"] == "witness") & readings["bell_id"].isin(blank)]
    errors.refuse(
        "measurements",
        rows,
        "datum",
        "the reading counts from a scribed line of unknown station",
        "witness_z in the bell's row of bells",
        "fill it in, or give the datum that was used",
    )


def _require_mandrel_of_clearance(errors: ErrorCollector) -> None:
    """An original's clearance says something only beside the mandrel it was set on."""
    points = errors.frames["specimen_points"]
    nowhere = points["mandrel_id"].isna() | points["revision"].isna()
    rows = points.index[(points["kind"] == "clearance") & nowhere]
    errors.refuse(
        "specimen_points",
        rows,
        "mandrel_id",
        "a clearance names no mandrel and revision",
        "the mandrel_id and revision that the original was set on",
    )


def _named(key: tuple) -> str:
    """A key as a person would say it."""
    return " ".join(f"{part:.6g}" if isinstance(part, float) else repr(part) for part in key)
