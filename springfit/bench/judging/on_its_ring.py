"""A value beside the others on its ring: one that differs far more than those of the bell's other rings is a slip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.typed_readings import BENCH, TypedReadings
from springfit.findings import Finding
from springfit.records.checks.slips.compared_readings import ComparedReadings, Expected
from springfit.records.checks.slips.ring_angles import LEAST_OFF_MM
from springfit.records.checks.slips.ring_slips import odd_on_rings, ring_words

__all__ = ["ring_slip"]

Numbers = NDArray[np.integer[Any]]


def ring_slip(
    rows: ComparedReadings, said: Expected, slips: Numbers, places: Sequence[Place], typed: TypedReadings,
    at: tuple[Numbers, int], unit: str,
) -> tuple[Finding, ...]:  # fmt: skip
    """The doubt about a value in `unit` by the others on its ring, empty without one.

    rows and what is `said` of them: the bells before and the bell that is typed; `slips` those in doubt already.
    at: where each typed reading stands among the rows, and which of them is asked about.
    """
    of_own, number = at
    ring = [n for n, place in enumerate(places) if _ring(place) == _ring(places[number])]
    values = typed.value[ring]
    if places[number].kind == "clearance" or len(ring) < 2 or values.max() - values.min() <= LEAST_OFF_MM:
        return ()  # what nearly every value comes to: nothing is laid out in a table for it
    for odd in odd_on_rings(_table(rows, said, places[number].kind), pd.Index(slips)):
        if odd.row == of_own[number]:
            others = typed.value[[n for n, place in enumerate(of_own) if place in odd.here.index and place != odd.row]]
            value, bell = float(typed.value[number]), places[number].bell
            what, usual, remedy = ring_words(bell, unit, value, float(np.median(others)), odd)
            return (Finding("doubt", BENCH, None, f"value_{unit}", what, usual, remedy, bell, sets_row_aside=True),)
    return ()


def _ring(place: Place) -> tuple[float, str]:
    return place.fixed_mm, place.gauge


def _table(rows: ComparedReadings, said: Expected, kind: str) -> pd.DataFrame:
    """The rows as `odd_on_rings` looks at them; on one ring values differ as their gaps do."""
    return pd.DataFrame(
        {
            "code": rows.steel, "bell_id": rows.bell, "stage": rows.sheet, "kind": kind, "datum": "",
            "gauge_id": rows.gauge, "z_mm": rows.station.round(6), "angle_deg": rows.angle,
            "value_mm": rows.gap / rows.per_value, "station_mm": rows.station, "slope": rows.slope,
            "level_mm": said.level, "sd_mm": said.sd,
        }
    )  # fmt: skip
