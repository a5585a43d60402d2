"""What a shop's batches measured as a table to learn from: X, y and groups in the form scikit-learn asks for.

A row is a station of a batch's flare. X holds what is known of it before a bell is spun (where it lies, and how the
batch is spun, nan where the record is blank); y the mean gap that the batch's bells showed there, seats separated;
groups the batch and the mandrel, which are left out whole: rows of one batch share its anneal and its hands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.learning.basis.batch_basis import blank_rim_arc, draw_end_arc
from springfit.learning.experience import Experience
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.learning.features.station_features import STATION_FEATURES, StationInputs, flare_coordinate

__all__ = ["HOOP_GAP", "PLACE", "STATIONS", "BatchCurve", "TrainingFrame", "frame_of", "thinned"]

Floats = NDArray[np.float64]

STATIONS = 16  # of a batch's flare that a regressor sees: neighbouring stations tell nothing new
FLARE, LOG_RADIUS, HOOP_GAP = PLACE = ("flare", "log_radius", "hoop_gap_mm")
# Of arc between the stations at which features of a place are worked out; assumed fine enough
STEP_MM = 1.0


@dataclass(frozen=True)
class BatchCurve:
    """The measured mean gap of a batch over its flare: `arc`, `slope`, `radius`, `gap`, `gap_sd` (n,) [mm, rad]; `unit`
    (n,) the gap of one hoop share the same everywhere; `features` one row of numbers, nan where blank."""

    batch_id: str
    mandrel_id: str
    spun_on: str
    arc: Floats
    slope: Floats
    radius: Floats
    gap: Floats
    gap_sd: Floats
    unit: Floats
    features: Floats

    @cached_property
    def rows(self) -> pd.DataFrame:
        """A row a station: flare rate (0 tube .. 11 flat), ln of the radius [mm], the gap [mm] of one hoop share the
        same everywhere, and the batch's numbers, nan where blank."""
        places = (flare_coordinate(self.slope), np.log(self.radius), self.unit)
        batch = {one.name: value for one, value in zip(BATCH_FEATURES, self.features, strict=True)}
        return pd.DataFrame({**dict(zip(PLACE, places, strict=True)), **batch})


class TrainingFrame(NamedTuple):
    """X: a column a feature, nan where the record is blank. y: the gap [mm per side], + when the bell is larger.
    groups: batch_id and mandrel_id. All three have one row a station, in the same order."""

    X: pd.DataFrame
    y: pd.Series
    groups: pd.DataFrame


def thinned(count: int, stations: int | None) -> NDArray[np.intp]:
    """Indices of at most `stations` of `count` rows, evenly spread, both ends kept; None keeps all."""
    return np.unique(np.linspace(0, count - 1, min(count, stations or count)).astype(np.intp))


def frame_of(
    curves: Sequence[BatchCurve], experience: Experience, *, stations: int | None = STATIONS
) -> TrainingFrame:
    """The training frame of measured batches, at most `stations` of each (None: all). ValueError without a batch."""
    if not curves:
        raise ValueError("no batch was measured, expected at least one to learn from")
    rows, gaps, groups = [], [], []
    for curve in curves:
        kept = thinned(len(curve.arc), stations)
        places = _places(curve, experience).iloc[kept]
        rows.append(pd.concat((curve.rows.iloc[kept], places), axis=1))
        gaps.append(curve.gap[kept])
        groups.append(pd.DataFrame({"batch_id": curve.batch_id, "mandrel_id": curve.mandrel_id}, index=kept))
    return TrainingFrame(
        pd.concat(rows, ignore_index=True),
        pd.Series(np.concatenate(gaps), name="gap_mm"),
        pd.concat(groups, ignore_index=True),
    )


def _places(curve: BatchCurve, experience: Experience) -> pd.DataFrame:
    """The other features of a place, worked out along the whole bell, at the stations of the curve."""
    steel, how = experience.meridian(curve.batch_id), experience.conditions[curve.batch_id]
    arc = np.linspace(0.0, curve.arc[-1], int(curve.arc[-1] / STEP_MM) + 2)
    wall = how.wall_or_usual
    bell = StationInputs(steel.at(arc), wall, draw_end_arc(steel, how), blank_rim_arc(steel, how))
    return pd.DataFrame(
        {one.name: np.interp(curve.arc, arc, one.value(bell)) for one in STATION_FEATURES if one.name not in PLACE}
    )
