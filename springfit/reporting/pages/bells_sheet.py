"""The bells of a mandrel: on paper by zone, in their file by station, on page one what they are off by most."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from springfit.decisions.cut_tables.stations import FURTHEST_MM
from springfit.reporting.figures.bell_marks import told_batches
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import Units, amount, bare_amount, counted, place, small_unit
from springfit.reporting.wording.places import diameter_at
from springfit.reporting.wording.verdict_wording import sentence
from springfit.reporting.wording.zones import is_masked, zone_of

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction

__all__ = ["bells_file", "bells_sheet", "largest_measured"]

_MOST_BATCHES = 5  # on paper; all of them are in the file


def bells_file(correction: Correction) -> pd.DataFrame:
    """The rows of bells.csv: batch, station, measured error with its standard deviation, forecast, used and why not."""
    rows = correction.measured
    reason = [f"other {unlike}" if unlike else "" for unlike in rows["unlike"]]
    columns = ["batch_id", "z_mm", "measured_error_mm", "sd_mm", "forecast_error_mm", "used"]
    return rows[columns].assign(reason=reason)


def bells_sheet(correction: Correction, *, units: Units) -> Sheet:
    """A row a batch and zone: how far its bells were off, how far the forecast is, whether it is used and why not."""
    rows = correction.measured
    title = "The bells of this mandrel"
    if not len(rows):
        return Sheet(title, "No bell of this mandrel has been measured.", (), ())
    newest = told_batches(rows, _MOST_BATCHES)
    zones, told = rows["slope_rad"].map(zone_of), rows.assign(forecast_error_mm=_judged_forecast(correction))
    body = [
        _row(part, zone, units)
        for batch in newest
        for zone in ("tail", "throat", "flare", "rim")
        if len(part := told[(rows["batch_id"] == batch) & (zones == zone)])
    ]
    left = rows["batch_id"].nunique() - len(newest)
    more = f" {left} more, not used or older, are in bells.csv alone." if left else ""
    note = (
        f"Errors in {small_unit(units)} per side against the bell wanted, + too large, on the steel as it is now, "
        "seats taken out; lowest and highest of each zone, all in bells.csv. No: not used, for what was other in its "
        "spinning."
        f"{more}"
    )
    head = ("batch", "rev.", "bells", "zone", "z", "measured", "forecast", "used")
    ends = tuple(at for at, row in enumerate(body, start=1) if at == len(body) or body[at][0] != row[0])
    return Sheet(title, note, head, tuple(body), ruled=ends)


def _row(part: pd.DataFrame, zone: str, units: Units) -> tuple[str, ...]:
    """One batch in one zone."""
    first = part.iloc[0]
    where = f"{place(part['z_mm'].iloc[0], units)} to {place(part['z_mm'].iloc[-1], units)}"
    measured, forecast = (_span(part[name], units) for name in ("measured_error_mm", "forecast_error_mm"))
    return (
        str(first["batch_id"]), str(first["revision"]), str(first["bells"]), zone, where, measured, forecast,
        _used_words(first),
    )  # fmt: skip


def _span(values: pd.Series, units: Units) -> str:
    """Lowest to highest of a zone."""
    known = values.dropna()
    if not len(known):
        return "not judged"
    low, high = (bare_amount(float(value), units, signed=True) for value in (known.min(), known.max()))
    return low if low == high else f"{low} to {high}"


def largest_measured(correction: Correction, units: Units) -> tuple[str, str, str]:
    """Label, value and detail: the bells' largest mean error at a station that they were read at and that is judged, on
    the steel as it is now, how many bells say so, and the batch that lies farthest out alone."""
    evidence, stations = correction.case.evidence, correction.stations
    used = correction.measured[correction.measured["used"].astype(bool)]
    away = np.abs(stations["s_mm"].to_numpy(float)[:, None] - used["s_mm"].to_numpy(float))
    here = np.min(away, axis=1, initial=np.inf) <= FURTHEST_MM
    bells = np.where(here & ~is_masked(stations), stations["bells_error_mm"].to_numpy(float), np.nan)
    if not np.isfinite(bells).any():
        return "Measured", counted(evidence.batches, "batch"), f"{counted(evidence.bells, 'bell')} of this mandrel."
    batches = used.drop_duplicates("batch_id")
    told = f"mean of 1 batch spun like this, {counted(int(batches['bells'].sum()), 'bell')}"
    if len(batches) > 1:
        told = f"mean of the {len(batches)} batches used, each weighed by its readings"
    row = int(np.nanargmax(np.abs(bells)))
    z, sd, forecast = (float(stations[name].iloc[row]) for name in ("z_mm", "bells_sd_mm", "error_mm"))
    where = f"z\u00a0{place(z, units)}, \u00d8\u00a0{place(diameter_at(stations, z), units)}"
    said = f"largest {told}, at {where}, give or take {amount(sd, units)}; forecast there "
    said += f"{amount(forecast, units, signed=True)}. {_farthest(correction, used, float(bells[row]), units)}"
    return "Largest measured", amount(float(bells[row]), units, signed=True), sentence(said)


def _farthest(correction: Correction, used: pd.DataFrame, mean_mm: float, units: Units) -> str:
    """The batch that reads farthest out alone, where that is more than a tolerance beyond the largest mean."""
    judged = used[_judged_forecast(correction).notna().reindex(used.index)]
    if not len(judged):
        return ""
    one = judged.iloc[int(np.argmax(np.abs(judged["measured_error_mm"].to_numpy(float))))]
    error = float(one["measured_error_mm"])
    if abs(error) - abs(mean_mm) <= correction.job.tolerance_mm:
        return ""
    where = f"z {place(float(one['z_mm']), units)}"
    return f"Batch {one['batch_id']} alone reads {amount(error, units, signed=True)} at {where}"


def _judged_forecast(correction: Correction) -> pd.Series:
    """The forecast error at each measured station, blank where nothing is judged: in a fault, at the bead. A station
    just past the last place that is judged has that place's, as page one says it."""
    case, rows = correction.case, correction.measured
    s, arc = rows["s_mm"].to_numpy(float), case.mandrel.s
    if not case.open.any():
        return pd.Series(np.nan, index=rows.index)
    away = np.abs(s[:, None] - arc[case.open])
    nearest = case.split.error[case.open][away.argmin(axis=1)]
    within = np.interp(s, arc, case.open.astype(float)) == 1.0
    told = np.where(within, rows["forecast_error_mm"], np.where(away.min(axis=1) <= FURTHEST_MM, nearest, np.nan))
    return pd.Series(told, index=rows.index)


def _used_words(row: pd.Series) -> str:
    """Whether a batch is used, and why not."""
    return "yes" if row["used"] else f"no: {row['unlike']}"
