"""The invented shop's rows as the tables of a record book, in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from springfit.demo.keeping.book_sheets import table
from springfit.demo.keeping.measuring import Gauge
from springfit.demo.keeping.runs import Rows
from springfit.demo.spinning.families import BellLine
from springfit.demo.spinning.true_steel import Mandrel, measured_stations, stations_along

__all__ = [
    "BATCHES",
    "BELLS",
    "MEASUREMENTS",
    "Target",
    "gauge_table",
    "mandrel_tables",
    "run_tables",
    "target_tables",
]

BATCHES = (
    "batch_id",
    "spun_on",
    "mandrel_id",
    "revision",
    "alloy",
    "temper",
    "lot",
    "wall_mm",
    "anneal",
    "draw_end_mm",
    "draw_ring",
    "passes",
    "back_passes",
    "hump",
    "bolt_checked",
    "tool_nose_mm",
    "spindle_rpm",
    "lubricant",
    "spinner",
    "blank_rim_mm",
    "finished_rim_mm",
    "note",
)
BELLS = ("bell_id", "batch_id", "order_in_batch", "wall_mm", "witness_z_mm", "verdict", "fault", "note")
MEASUREMENTS = ("bell_id", "stage", "kind", "datum", "z_mm", "value_mm", "angle_deg", "gauge_id")


@dataclass(frozen=True, eq=False)
class Target:
    """The inside of a finished bell that is wanted, and how far it may be off."""

    target_id: str
    mandrel_id: str
    line: BellLine
    tolerance_mm: float
    slide_mm: float
    note: str | None = None


def mandrel_tables(mandrels: dict[str, Mandrel], rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    """`mandrels` and `mandrel_profile`: every revision, as somebody measured it."""
    heads, stations = [], []
    for name, mandrel in mandrels.items():
        for steel in mandrel.revisions:
            heads.append(
                {
                    "mandrel_id": name,
                    "revision": steel.revision,
                    "in_force_from": steel.in_force_from,
                    "finish": steel.finish,
                    "steel": "tool steel",
                    "note": steel.note,
                }
            )
            z, diameter = measured_stations(steel.line, rng, step_mm=mandrel.step_mm)
            stations += [
                {"mandrel_id": name, "revision": steel.revision, "z_mm": a, "diameter_mm": b}
                for a, b in zip(z, diameter, strict=True)
            ]
    return {
        "mandrels": table(heads, ("mandrel_id", "revision", "in_force_from", "finish", "steel", "note")),
        "mandrel_profile": table(stations, ("mandrel_id", "revision", "z_mm", "diameter_mm")),
    }


def target_tables(targets: dict[str, Target]) -> dict[str, pd.DataFrame]:
    """`targets` and `target_profile`."""
    heads = [
        {
            "target_id": t.target_id,
            "mandrel_id": t.mandrel_id,
            "tolerance_mm": t.tolerance_mm,
            "slide_mm": t.slide_mm,
            "note": t.note,
        }
        for t in targets.values()
    ]
    stations = []
    for t in targets.values():
        z, r, _ = t.line.points_at(stations_along(t.line, step_mm=5.0))
        stations += [
            {"target_id": t.target_id, "z_mm": a, "diameter_mm": 2.0 * b} for a, b in zip(z, r, strict=True)
        ]
    return {
        "targets": table(heads, ("target_id", "mandrel_id", "tolerance_mm", "slide_mm", "note")),
        "target_profile": table(stations, ("target_id", "z_mm", "diameter_mm")),
    }


def run_tables(rows: Rows) -> dict[str, pd.DataFrame]:
    """`batches`, `bells`, `measurements`."""
    return {
        "batches": table(rows.batches, BATCHES),
        "bells": table(rows.bells, BELLS),
        "measurements": table(rows.measurements, MEASUREMENTS),
    }


def gauge_table(gauges: dict[str, Gauge]) -> dict[str, pd.DataFrame]:
    """`gauges`: what their owners believe of them; nobody knows the biases."""
    rows = [
        {
            "gauge_id": g.gauge_id,
            "what": g.what,
            "repeatability_mm": g.repeatability_mm,
            "station_mm": g.station_mm,
            "ball_radius_mm": g.ball_radius_mm,
        }
        for g in gauges.values()
    ]
    return {"gauges": table(rows, ("gauge_id", "what", "repeatability_mm", "station_mm", "ball_radius_mm"))}
