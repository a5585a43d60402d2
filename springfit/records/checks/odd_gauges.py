"""Gauges whose stated figures are not theirs: another unit, a point gone wrong, a ball's diameter for its radius."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import in_words, split_unit
from springfit.records.blank_cells import blanks_filled
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET, MandrelProfile, slopes_at_stations
from springfit.records.reading_kinds import KINDS
from springfit.records.rules.usual_gauges import usual_gauge
from springfit.records.tables import TABLES

__all__ = ["gauges_of_another_kind", "odd_balls", "odd_gauges"]

# Gauges of one kind differ by a factor of three or four (the demo and the sample shops lie within 3.4 of the usual
# figures); inches for millimetres is 25.
_TIMES = 6.0  # between the two; by judgement

_FEWEST_SHEETS, _FEWEST_PLACES = 4, 6  # that tell of a ball, and readings of each; by judgement
_ALIKE_MM = 4.0  # of z: readings of other gauges so near say what a stylus should have read
# A ball as its readings show it comes out a tenth to a half too large, for the flare bends away under it (the demo, the
# sample shops and four development shops: 1.06 to 1.48): one that is surely below this of what is stated is another.
_SHOWN_AT_LEAST, _SURE_SDS = 0.85, 3.0


def odd_gauges(book: Book) -> list[Finding]:
    """A doubt for each figure of a gauge far from what its kind usually errs by."""
    found = []
    for row, gauge in book.gauges.to_dict("index").items():
        kind = usual_gauge(gauge["what"])
        for column in ("repeatability_mm", "station_mm") if kind else ():
            stated, usual = float(gauge[column]), float(getattr(kind, column))
            low, high = TABLES["gauges"].column(column).usual or (0.0, np.inf)
            if not low <= stated <= high:
                continue  # told as an unusual size already
            if not stated > 0 or abs(np.log(stated / usual)) < np.log(_TIMES):
                continue
            file = str(gauge["source_file"])
            unit = "mm" if split_unit(book.headers.get((file, column), column))[1] == "mm" else "in"
            name, shown = column.removesuffix("_mm"), in_words(stated, unit)
            found.append(
                book.finding(
                    "doubt", "gauges", row, column, subject=str(gauge["gauge_id"]),
                    what=f"{name} of gauge {book.gauges.at[row, 'gauge_id']!r} is {shown}",
                    expected=f"about {in_words(usual, unit)}, as usual for {kind.name}",  # type: ignore[union-attr]
                    remedy="was another unit typed, or a point misplaced?",
                )
            )  # fmt: skip
    return found


# What a kind of gauge reads and no other: leaves the room under a bell, a ball micrometer its wall.
_ONLY = {"feeler leaves": "clearance", "ball micrometer for walls": "wall"}
_NO_LEAVES = ("micrometer", "ring gauges", "pi tape", "telescoping gauge", "steel rule")  # and every caliper


def gauges_of_another_kind(book: Book) -> list[Finding]:
    """A doubt for each gauge and kind of reading that do not go together: a diameter by leaves, leaves by a caliper."""
    kinds = {gauge: usual_gauge(what) for gauge, what in zip(book.gauges["gauge_id"], book.gauges["what"], strict=True)}
    found = []
    for (gauge, kind), rows in book.measurements.groupby(["gauge_id", "kind"], sort=False):
        name = usual.name if (usual := kinds.get(gauge)) else ""
        no_leaves = kind == "clearance" and (name in _NO_LEAVES or name.endswith("caliper"))
        if name and (_ONLY.get(name, kind) != kind or no_leaves):
            many = f", and so on in {len(rows)} readings" if len(rows) > 1 else ""
            what = f"{kind} is read with gauge {gauge!r}, which is {name}{many}"
            remedy = "was another gauge or kind meant?"
            expected = f"{name} for {_ONLY[name]}" if name in _ONLY else "leaves for a clearance"
            found.append(
                book.finding("doubt", "measurements", rows.index[0], "gauge_id", what=what, expected=expected,
                             remedy=remedy, subject=str(gauge))
            )  # fmt: skip
    return found


def odd_balls(book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt for each stylus whose readings show a ball much smaller than its radius says: its diameter, likely.

    A reading of a stylus is its ball's centre less its radius straight down, so that it stands off by r (1 - cos slope)
    more than other gauges' on the same steel do; a sheet's slide along the axis is found beside that. `readings` are
    rough gaps.
    """
    balls = blanks_filled(book.gauges.set_index("gauge_id")["ball_radius_mm"], TABLES["gauges"].by_name["ball_radius"])
    stated = readings["gauge_id"].map(balls).fillna(0.0)
    if not (stated > 0).any():
        return []
    place = (readings["station_mm"] / _ALIKE_MM).round()
    plain = readings[(stated == 0) & ~readings["fitted"]]
    usual = plain.groupby([plain["code"], place.loc[plain.index]])["gap_mm"].median()
    traced = readings[stated > 0]
    keys = pd.MultiIndex.from_arrays([traced["code"], place.loc[traced.index]])
    traced = traced.assign(
        more=traced["gap_mm"] - usual.reindex(keys).to_numpy(), slope=slopes_at_stations(traced, list(of.values()))
    ).dropna(subset=["more"])
    found = []
    for gauge, rows in traced.groupby("gauge_id", sort=False):
        shown = np.array([one for _, sheet in rows.groupby(SHEET, sort=False) if np.isfinite(one := _ball_of(sheet))])
        if len(shown) < _FEWEST_SHEETS:
            continue
        middle, sd = float(np.median(shown)), float(np.std(shown, ddof=1)) / np.sqrt(len(shown))
        if middle + _SURE_SDS * sd < _SHOWN_AT_LEAST * float(balls[gauge]):
            found.append(_of_ball(book, str(gauge), float(balls[gauge])))
    return found


def _ball_of(sheet: pd.DataFrame) -> float:
    """Radius [mm] of the ball that one sheet shows, its slide found as well; NaN of too few readings."""
    if len(sheet) < _FEWEST_PLACES:
        return float("nan")
    slope = sheet["slope"].to_numpy(float)
    side = 1.0 if KINDS[sheet["kind"].iloc[0]].through_wall else -1.0
    columns = np.column_stack((np.sin(slope), side * (1.0 - np.cos(slope))))
    return float(np.linalg.lstsq(columns, sheet["more"].to_numpy(float), rcond=None)[0][1])


def _of_ball(book: Book, gauge: str, radius: float) -> Finding:
    row = book.gauges.index[book.gauges["gauge_id"] == gauge][0]
    file = str(book.gauges.at[row, "source_file"])
    unit = "mm" if split_unit(book.headers.get((file, "ball_radius_mm"), "ball_radius_mm"))[1] == "mm" else "in"
    return book.finding(
        "doubt", "gauges", row, "ball_radius_mm", subject=gauge,
        what=f"ball_radius of gauge {gauge!r} is {in_words(radius, unit)}; its readings show a much smaller ball",
        expected="the radius of the ball, half its diameter",
        remedy=f"was it the diameter? Its radius is then {in_words(radius / 2.0, unit)}",
    )  # fmt: skip
