"""The bells of a mandrel: on paper by zone, in their file by station, on page one what they are off by most."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import Units, amount, bare_amount, place, small_unit
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
    newest = list(dict.fromkeys(rows["batch_id"]))[-_MOST_BATCHES:]
    zones, told = rows["slope_rad"].map(zone_of), rows.assign(forecast_error_mm=_judged_forecast(correction))
    body = [
        _row(part, zone, units)
        for batch in newest
        for zone in ("tail", "throat", "flare", "rim")
        if len(part := told[(rows["batch_id"] == batch) & (zones == zone)])
    ]
    more = "" if len(newest) == rows["batch_id"].nunique() else f" The newest {len(newest)} batches."
    note = (
        f"Errors in {small_unit(units)} per side against the bell wanted, + too large, on the steel as it is now; the "
        "seat of each setting-up is taken out. Lowest and highest station of each zone; by station in bells.csv."
        f"{more}"
    )
    head = ("batch", "revision", "bells", "zone", "z", "measured", "forecast", "used")
    return Sheet(title, note, head, tuple(body))


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
    """Label, value and detail: the bells' largest mean error on the steel as it is now, and how many bells say so."""
    evidence, stations = correction.case.evidence, correction.stations
    bells = stations["bells_error_mm"].to_numpy(float)
    if not np.isfinite(bells).any():
        return "Measured", _count(evidence.batches, "batch"), f"{_count(evidence.bells, 'bell')} of this mandrel."
    used = correction.measured[correction.measured["used"].astype(bool)].drop_duplicates("batch_id")
    told = f"{_count(len(used), 'batch')} spun like this, {_count(int(used['bells'].sum()), 'bell')}"
    row = int(np.nanargmax(np.abs(bells)))
    z, sd, forecast = (float(stations[name].iloc[row]) for name in ("z_mm", "bells_sd_mm", "error_mm"))
    where = f"z\u00a0{place(z, units)}, \u00d8\u00a0{place(diameter_at(stations, z), units)}"
    said = (
        f"largest mean of {told}, at {where}; known two times in three to {amount(sd, units)}. "
        f"Forecast there {amount(forecast, units, signed=True)}"
    )
    return "Largest measured", amount(float(bells[row]), units, signed=True), sentence(said)


def _judged_forecast(correction: Correction) -> pd.Series:
    """The forecast error at each measured station, blank where nothing is judged: in a fault, at the bead."""
    stations, rows = correction.stations, correction.measured
    masked = np.interp(rows["z_mm"], stations["z_mm"], is_masked(stations).astype(float)) > 0.5
    return rows["forecast_error_mm"].mask(masked)


def _count(number: int, name: str) -> str:
    """`1 batch`, `4 bells`."""
    return f"{number} {name}{'' if number == 1 else 'es' if name.endswith('ch') else 's'}"


def _used_words(row: pd.Series) -> str:
    """Whether a batch is used, and why not."""
    return "yes" if row["used"] else f"no: other {row['unlike']}"
