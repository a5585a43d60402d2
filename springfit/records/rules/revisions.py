"""Which steel a batch and a reading belong to: the revision in force on the day, stations that lie on it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import MM_PER_UNIT, from_mm, split_unit
from springfit.records.blank_cells import stated_wall
from springfit.records.book import Headers
from springfit.records.reading_kinds import z_from_tail
from springfit.records.rules.error_collector import ErrorCollector, Frames, filled_rows

__all__ = ["bells_on_steel", "fill_revisions", "is_plated", "steel_findings"]

_PAST_STEEL_MM = 1.0  # a hand seat (at most 0.8) beyond the last station still lies on the mandrel
_RING_PAST_STEEL_MM = 3.0  # where a ring comes to rest follows the bell, which may stand off the steel; assumed
_THICKEST_WALL_MM = 5.0  # ten times an ordinary sheet: as `tables` bounds the wall of bells and batches


def fill_revisions(frames: Frames, headers: Headers) -> list[Finding]:
    """Fills `batches.revision` with the one in force on the day; errors where none is or another is named."""
    errors = ErrorCollector(frames, headers)
    mandrels, batches = frames["mandrels"], frames["batches"]
    _require_days_in_order(errors)
    steels = {str(name): rows for name, rows in mandrels.groupby("mandrel_id", sort=False)}
    revisions = batches["revision"].to_numpy(float, copy=True)
    on_day = _in_force(steels, batches["mandrel_id"], batches["spun_on"])
    # On the day of a change the batch may still have been spun on the steel of the day before.
    on_day_before = _in_force(steels, batches["mandrel_id"], batches["spun_on"] - pd.Timedelta(days=1))
    rows: Any = zip(batches.index, batches["mandrel_id"], batches["spun_on"], strict=True)
    for place, (row, mandrel, day) in enumerate(rows):
        if mandrel is None or mandrel not in steels or pd.isna(day):
            continue
        named, in_force, day_before = revisions[place], on_day[place], on_day_before[place]
        if np.isnan(in_force):
            errors.refuse(
                "batches",
                [row],
                "spun_on",
                f"mandrel {mandrel!r} has no revision in force on {day.date()}",
                "a day on or after the first revision's in_force_from",
            )
        elif np.isnan(named):
            revisions[place] = in_force
        elif named not in (in_force, day_before):
            errors.refuse(
                "batches",
                [row],
                "revision",
                f"revision {named:.0f} of mandrel {mandrel!r} is not in force on {day.date()}",
                f"revision {in_force:.0f}, or blank",
                "correct the day, the revision, or in_force_from in mandrels",
            )
    batches["revision"] = revisions
    return errors.findings


def _in_force(steels: dict[str, pd.DataFrame], of: pd.Series, days: pd.Series) -> np.ndarray:
    """The highest revision of the mandrel `of` each row that came into force by its day; NaN before the first."""
    found = np.full(len(of), np.nan)
    names, day = of.to_numpy(dtype=object), days.to_numpy()
    for name, rows in steels.items():
        dated = rows[rows["in_force_from"].notna()].sort_values("in_force_from", kind="stable")
        highest = np.fmax.accumulate(np.append(np.nan, dated["revision"].to_numpy(float)))
        here = np.flatnonzero((names == name) & ~np.isnat(day))
        found[here] = highest[np.searchsorted(dated["in_force_from"].to_numpy(), day[here], side="right")]
    return found


def steel_findings(frames: Frames, headers: Headers) -> list[Finding]:
    """Errors of values that no steel and no bell could give; `batches.revision` must be filled in."""
    errors = ErrorCollector(frames, headers)
    _refuse_impossible_values(errors, "measurements")
    _refuse_impossible_values(errors, "specimen_points")
    _require_stations_on_steel(errors)
    _require_draw_end_on_steel(errors)
    return errors.findings


def bells_on_steel(batches: pd.DataFrame, bells: pd.DataFrame) -> pd.DataFrame:
    """One row a bell, indexed by `bell_id`: batch, mandrel, revision, wall (else its batch's), rims, witness.

    `batches` must have `revision` filled in. Rows with blank or repeated ids are left out.
    """
    of_batch = filled_rows(batches, ["batch_id"]).drop_duplicates("batch_id").set_index("batch_id")
    known = filled_rows(bells, ["bell_id"]).drop_duplicates("bell_id").set_index("bell_id")
    wanted = ["mandrel_id", "revision", "wall_mm", "blank_rim_mm", "finished_rim_mm"]
    steel = of_batch[wanted].reindex(known["batch_id"].to_numpy(dtype=object)).set_index(known.index)
    steel["wall_mm"] = stated_wall(known["wall_mm"], steel["wall_mm"])
    steel["batch_id"] = known["batch_id"]
    steel["witness_z_mm"] = known["witness_z_mm"]
    return steel


def is_plated(finish: str | None) -> bool:
    """Whether a revision of this finish carries plating; a blank one may, and is not taken to."""
    return finish is not None and finish.startswith("plated")


def _require_days_in_order(errors: ErrorCollector) -> None:
    """A later revision of a mandrel comes into force on a later day."""
    mandrels = filled_rows(errors.frames["mandrels"], ["mandrel_id", "revision", "in_force_from"])
    for _, rows in mandrels.drop_duplicates(["mandrel_id", "revision"]).groupby("mandrel_id"):
        ordered = rows.sort_values("revision")
        early = ordered.index[1:][np.diff(ordered["in_force_from"].to_numpy()) <= np.timedelta64(0)]
        errors.refuse(
            "mandrels",
            early,
            "in_force_from",
            "it is no later than the day of the revision before",
            "a later day for a higher revision",
        )


def _refuse_impossible_values(errors: ErrorCollector, table: str) -> None:
    readings = errors.frames[table]
    kind, value = readings["kind"], readings["value_mm"]
    feeler = kind == "clearance"
    errors.refuse(
        table,
        readings.index[~feeler & (value <= 0)],
        "value_mm",
        "the value is not above zero",
        "a size above zero",
    )
    errors.refuse(
        table,
        readings.index[feeler & (value < 0)],
        "value_mm",
        "the clearance is below zero",
        "0 (the thinnest leaf does not pass) or more",
    )
    errors.refuse(
        table,
        readings.index[(kind == "wall") & (value > _THICKEST_WALL_MM)],
        "value_mm",
        "the wall is impossible",
        "a wall below 5 mm (0.2 in)",
        "was it typed in another unit, or is it a diameter?",
    )


def _require_stations_on_steel(errors: ErrorCollector) -> None:
    """No reading may be taken where the bell's mandrel has no steel."""
    readings = errors.frames["measurements"]
    low, high = _ends_of_bells(errors.frames, readings["bell_id"].to_numpy(dtype=object))
    datum = readings["datum"].to_numpy(dtype=object)
    low, high = np.sort([z_from_tail(datum, end, high) for end in (low, high)], axis=0)
    margin = np.where(readings["kind"] == "axial_at_diameter", _RING_PAST_STEEL_MM, _PAST_STEEL_MM)
    z = readings["z_mm"].to_numpy(float)
    off = ((z < low - margin) | (z > high + margin)) & (readings["datum"] != "free").to_numpy()
    for row in np.flatnonzero(off).tolist():
        label = readings.index[row]
        unit = _unit(errors, "measurements", label, "z_mm")
        said, first, last = (f"{from_mm(float(mm), unit):.6g}" for mm in (z[row], low[row], high[row]))
        errors.refuse(
            "measurements",
            [label],
            "z_mm",
            f"the station {said} {unit} is past the steel of the bell's mandrel",
            f"{first} to {last} {unit}",
            _other_unit(float(z[row]), unit, float(low[row]), float(high[row])),
        )


def _ends_of_bells(frames: Frames, bell_ids: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First and last station [mm] of the steel of each reading's bell; NaN when it is not known."""
    steel = bells_on_steel(frames["batches"], frames["bells"])
    ends = _steel_ends(frames["mandrel_profile"])
    unknown = (np.nan, np.nan)
    of_bell = {
        bell: ends.get((mandrel, revision), unknown)
        for bell, mandrel, revision in zip(steel.index, steel["mandrel_id"], steel["revision"], strict=True)
    }
    both = np.array([of_bell.get(bell, unknown) for bell in bell_ids.tolist()], dtype=float).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def _steel_ends(mandrel_profile: pd.DataFrame) -> dict[Any, tuple[float, float]]:
    """First and last station [mm] of every (mandrel_id, revision)."""
    ends = mandrel_profile.groupby(["mandrel_id", "revision"])["z_mm"].agg(["min", "max"])
    return dict(zip(ends.index, zip(ends["min"].tolist(), ends["max"].tolist(), strict=True), strict=True))


def _require_draw_end_on_steel(errors: ErrorCollector) -> None:
    batches = errors.frames["batches"]
    ends = _steel_ends(errors.frames["mandrel_profile"])
    columns = (batches[name].tolist() for name in ("mandrel_id", "revision", "draw_end_mm"))
    for row, mandrel, revision, draw_end in zip(batches.index, *columns, strict=True):
        last = ends.get((mandrel, revision), (np.nan, np.nan))[1]
        if draw_end > last + _PAST_STEEL_MM:
            unit = _unit(errors, "batches", row, "draw_end_mm")
            errors.refuse(
                "batches",
                [row],
                "draw_end_mm",
                "the draw ends past the steel of the batch's mandrel",
                f"at most {from_mm(last, unit):.6g} {unit}",
                _other_unit(draw_end, unit, 0.0, last),
            )


def _unit(errors: ErrorCollector, table: str, row: Any, column: str) -> str:
    """Unit of a length column in the file that the row stands in."""
    files: Any = errors.frames[table].at
    return split_unit(errors.headers.get((files[row, "source_file"], column), column))[1] or "mm"


def _other_unit(z: float, unit: str, low: float, high: float) -> str:
    typed = from_mm(z, unit)
    fits = [other for other in MM_PER_UNIT if other != unit and low <= typed * MM_PER_UNIT[other] <= high]
    return f"it would lie on the steel in {' or '.join(fits)}: was it typed in another unit?" if fits else ""
