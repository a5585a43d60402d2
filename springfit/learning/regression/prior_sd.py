"""Prior means and the spreads (standard deviations) of everything the model does not know beforehand.

Spreads are hyperparameters: they start from what the trade and the mechanics say and are re-estimated by marginal
likelihood, each with a few pseudo-observations of its starting value, so that few batches cannot drive one to zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_basis import FIELDS
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.summaries import DATUMS, REMAINDERS

__all__ = ["STARTING_SPREADS", "Prior", "Spreads"]

Floats = NDArray[np.float64]

STARTING_SPREADS: dict[str, float] = {
    "seat_tail": 0.4,  # [mm] hand seats of 0.1 to 0.8 mm are usual; common practice, no source
    "seat_witness": 0.08,  # [mm] setting to a scribed line
    "seat_rim": 0.2,  # [mm] a rim face is ragged
    "wall": 0.008,  # [mm] sheet against its nominal
    "bell_hoop": 0.06, "bell_along": 0.06,  # [-] bells of one batch differ by about this share
    "bell_remainder": 0.006,  # [mm] hands
    "batch_hoop": 0.12, "batch_along": 0.12,  # [-] batches differ by about twice that
    "effects": 0.2,  # [-] log multiplier by one unit of a feature
    **{kind: 0.08 for kind in LABELS},
    "mandrels": 0.008,  # [mm] what the shell does not explain on one mandrel
    "thinning": 0.02,  # [walls] a spun wall hardly leaves the sheet's; Sugar et al. 2016 see thinning half-way up
    "rim": 0.5,  # [walls] where on the edge of the rim a rule finds the face
    "walk_hoop": 0.15, "walk_meridional": 0.03, "walk_meridional_by_nose": 0.03, "walk_moment": 0.06,  # [-] a knot
}  # fmt: skip

LABEL_MEAN = 0.01  # [-] how far the mean deviation of a kind of label may stand from zero

# Prior of the fields: mean and spread of the level of each row of splines, and of each single field [share of
# flow stress]. Levels: hoop survives in the spun zone and hardly in the drawn one (design study with finite elements).
_LEVEL = {
    "hoop": (0.6, 0.5),
    "meridional": (0.0, 0.02),
    "meridional_by_nose": (0.0, 0.02),
    "moment": (0.0, 0.4),
}
_SINGLE = {
    "hoop_drawn": (0.03, 0.05), "meridional_drawn": (0.0, 0.015), "hoop_overlap": (0.0, 0.3),
    "hoop_edge": (0.0, 0.1), "moment_edge": (0.0, 0.15), "hoop_radius": (0.0, 0.07),
    "moment_radius": (0.0, 0.2), "hoop_facet": (0.0, 0.1), "moment_facet": (0.0, 0.2),
}  # fmt: skip


@dataclass(frozen=True)
class Spreads:
    """Standard deviations by name (see `STARTING_SPREADS`): [mm] or [-]."""

    values: Mapping[str, float] = field(default_factory=lambda: dict(STARTING_SPREADS))

    def __getitem__(self, name: str) -> float:
        return self.values[name]

    def local_variance(self, datum: NDArray[np.intp]) -> Floats:
        """Prior variances of the bells' own unknowns, (bells, local): seats, wall, v, remainder."""
        seats = np.array([self[f"seat_{name}"] if name != "free" else 100.0 for name in DATUMS] + [1.0])
        tail = np.concatenate(
            (
                [self["wall"], self["bell_hoop"], self["bell_along"]],
                np.full(REMAINDERS, self["bell_remainder"]),
            )
        )
        return np.hstack((seats[datum], np.broadcast_to(tail, (len(datum), len(tail))))) ** 2

    def batch_variance(self, layout: Layout, batch: str, theta: Floats) -> Floats:
        """Prior variances (2,) of a batch's own log multipliers; each blank feature adds what it might have done."""
        return self.new_batch_variance(layout, layout.facts[batch].features, theta)

    def new_batch_variance(self, layout: Layout, features: Floats, theta: Floats) -> Floats:
        """The same for features (features,) with nan where blank."""
        usual = np.array([feature.spread for feature in BATCH_FEATURES])
        blank = np.isnan(features)
        unknown = float(np.sum((theta[layout.slices["effects"]] * usual)[blank] ** 2))
        return np.array([self["batch_hoop"], self["batch_along"]]) ** 2 + unknown

    def unmet_label_variance(self, layout: Layout, facts: BatchFacts) -> float:
        """Variance of the log multiplier from labels that are blank or were never met."""
        kinds = zip(LABELS, layout.levels, facts.labels, strict=True)
        return sum(self[kind] ** 2 for kind, levels, label in kinds if label not in levels)


@dataclass(frozen=True)
class Prior:
    """Prior mean (unknowns,) of the shop's unknowns and, given spreads, their precision (unknowns, unknowns)."""

    layout: Layout
    mean: Floats

    @classmethod
    def of(cls, layout: Layout) -> Prior:
        """The prior before any bell."""
        mean = np.zeros(layout.size)
        for place, spec in enumerate(FIELDS):
            mean[place] = _SINGLE[spec.name][0] if spec.place < 0 else _LEVEL[_row_name(spec.name)][0]
        mean[layout.slices["rim"]] = 0.5  # the face may be taken at either edge of the wall
        return cls(layout, mean)

    def precision(self, spreads: Spreads) -> Floats:
        """Inverse covariance; rows of splines are random walks about a level, all else is independent."""
        matrix = np.zeros((self.layout.size, self.layout.size))
        for name, places in spline_rows().items():
            count = len(places)
            step = np.diff(np.eye(count), axis=0)
            level = np.full(count, 1.0 / count)
            block = (
                step.T @ step / spreads[f"walk_{name}"] ** 2 + np.outer(level, level) / _LEVEL[name][1] ** 2
            )
            matrix[np.ix_(places, places)] = block
        for place, spec in enumerate(FIELDS):
            if spec.place < 0:
                matrix[place, place] = 1.0 / _SINGLE[spec.name][1] ** 2
        for name, part in self.layout.slices.items():
            if name == "fields":
                continue
            among = np.arange(part.start, part.stop)
            spread = np.array(self.layout.columns.gauge_spread) if name == "gauges" else spreads[name]
            matrix[among, among] = 1.0 / spread**2
            if name in LABELS and len(among):
                # Labels are deviations from the shop: their mean is the fields' business, or both drift together.
                matrix[np.ix_(among, among)] += 1.0 / (len(among) * LABEL_MEAN) ** 2
        return matrix


def spline_rows() -> dict[str, list[int]]:
    """Places of the fields of each row of splines, by row name."""
    rows: dict[str, list[int]] = {}
    for place, spec in enumerate(FIELDS):
        if spec.place >= 0:
            rows.setdefault(_row_name(spec.name), []).append(place)
    return rows


def _row_name(name: str) -> str:
    """`hoop_flare_3` -> `hoop`, `meridional_flare_by_nose_3` -> `meridional_by_nose`."""
    share, rest = name.split("_flare")
    return share + ("_by_nose" if rest.startswith("_by_nose") else "")
