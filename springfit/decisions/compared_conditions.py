"""Ways of spinning one mandrel compared: each one's forecast, and what changes from the first way to every other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from springfit.decisions.forecast import Forecast, forecast_of
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.learning.basis.spun_sheet import draw_end_arc
from springfit.learning.compared_bells import compare_bells
from springfit.learning.forecasting.joint_forecast import GapDifference
from springfit.learning.model import SpringModel
from springfit.normal_errors import BAND_LEVEL
from springfit.records.conditions import Conditions

__all__ = ["Difference", "compare_conditions"]


@dataclass(frozen=True)
class Difference(GapDifference):
    """The bell of conditions `name` against that of the conditions `against`, both of one mandrel; places (n,) `z` and
    `slope` [mm, rad] beside `arc`; `draw_end` [mm of arc], where drawing stopped in the first."""

    name: str
    against: str
    z: FloatArray
    slope: FloatArray
    draw_end: float

    def to_frame(self) -> pd.DataFrame:
        """A row a station, tail to rim [mm]: the difference per side, + where the bell is the larger, and its band."""
        low, high = self.band(BAND_LEVEL)
        return pd.DataFrame(
            {
                "name": self.name, "against": self.against, "s_mm": self.arc, "z_mm": self.z,
                "difference_mm": self.gap, "difference_lo_mm": low, "difference_hi_mm": high,
            }
        )  # fmt: skip


def compare_conditions(
    model: SpringModel, mandrel: Meridian, conditions: Sequence[Conditions], *, stage: str = "trimmed"
) -> tuple[tuple[Forecast, ...], tuple[Difference, ...]]:
    """The bell that `mandrel` gives under each of `conditions`, and what every later one differs by from the first.

    Raises UnknownAlloyError for an alloy that the table does not have.
    """
    bells = [model.asked(mandrel, one, stage=stage) for one in conditions]
    told = tuple(forecast_of(model, bell) for bell in bells)
    drawn = draw_end_arc(mandrel, conditions[0])
    differences = []
    for bell in bells[1:]:
        one = compare_bells(model, bells[0], bell)
        places = mandrel.at(one.arc)
        names = (bell.conditions.name, bells[0].conditions.name)
        differences.append(Difference(**vars(one), name=names[0], against=names[1], z=places.z, slope=places.slope,
                                      draw_end=drawn))  # fmt: skip
    return told, tuple(differences)
