"""What each unknown adds to each reading of a bell, made once when the bell is read.

The fields of a batch are released on two shells a stage, of the thinnest and the thickest wall among its bells, and
every bell between them takes its share of both: columns are smooth in the wall, and over the few hundredths by which
bells of one sheet differ a straight line holds them to one part in several thousand. Then only the rows are kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.batch_basis import batch_basis
from springfit.learning.basis.laid_state import LaidState
from springfit.learning.basis.stress_basis import StressBasis
from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.data.observations import Bell, BellReadings
from springfit.learning.regression.summaries import (
    REMAINDERS,
    THINNINGS,
    Columns,
    remainder_columns,
    thinning_columns,
)
from springfit.records.conditions import Conditions

__all__ = ["MeasuredBasis", "stage_of", "with_designs"]

Floats = NDArray[np.float64]
BasisOf = Mapping[str, StressBasis]  # by stage


@dataclass(frozen=True)
class MeasuredBasis:
    """The fields of a batch on its first bell as last measured: `stage`, stations `arc` and `slope` (n,) [mm, rad], and
    the gap columns `normal` (n, fields) [mm] there."""

    stage: str
    arc: Floats
    slope: Floats
    normal: Floats


def stage_of(stage: str) -> str:
    """The stage whose shell a bell is: every stage after spinning ends at the trim line."""
    return "spun" if stage == "spun" else "trimmed"


def with_designs(
    bells: Sequence[BellReadings],
    steel: Meridian,
    conditions: Conditions,
    laid: LaidState | None,
    *,
    columns: Columns,
    envelope_of: Callable[[StressBasis], Floats],
) -> tuple[tuple[Bell, ...], MeasuredBasis]:
    """The bells of one batch with their designs, and its measured basis. `envelope_of` gives the elastic envelope [mm]
    at the stations of a basis."""
    walls = sorted({bell.wall for bell in bells})
    stages = {stage_of(session.stage) for bell in bells for session in bell.sessions}
    ends = [
        {stage: batch_basis(steel, conditions, laid, stage=stage, wall=wall) for stage in sorted(stages)}
        for wall in (walls if len(walls) == 1 else (walls[0], walls[-1]))
    ]
    envelopes = {stage: envelope_of(basis) for stage, basis in ends[0].items()}
    made = []
    for bell in bells:
        share = (bell.wall - walls[0]) / (walls[-1] - walls[0]) if len(ends) > 1 else 0.0
        design = _between([_design(bell, columns, bases, steel.length) for bases in ends], share)
        stage = stage_of(bell.sessions[0].stage)
        envelope = np.interp(bell.arc, ends[0][stage].arc, envelopes[stage])
        made.append(Bell(**vars(bell), design=design, envelope=envelope))
    stage = stage_of(bells[0].sessions[-1].stage)
    share = (bells[0].wall - walls[0]) / (walls[-1] - walls[0]) if len(ends) > 1 else 0.0
    normal = _between([bases[stage].normal for bases in ends], share)
    return tuple(made), MeasuredBasis(stage, ends[0][stage].arc, ends[0][stage].slope, normal)


def _between(ends: Sequence[Floats], share: float) -> Floats:
    return ends[0] if share == 0.0 else (1.0 - share) * ends[0] + share * ends[-1]


def _design(bell: BellReadings, columns: Columns, bases: BasisOf, length: float) -> Floats:
    """Design matrix (readings, columns.all) of one bell."""
    sine = np.sin(bell.slope)
    design = np.zeros((len(bell.gap), columns.all))
    fields, remainder = len(FIELDS), len(FIELDS) + REMAINDERS
    rim = remainder + THINNINGS
    home = rim + 1
    design[:, fields:remainder] = remainder_columns(bell.arc, bell.slope, length) * bell.springs[:, None]
    spun = bases[stage_of(bell.sessions[0].stage)].spun_at(bell.arc)
    through = (bell.wall * bell.through_wall)[:, None]
    design[:, remainder:rim] = thinning_columns(bell.slope, spun) * through
    for index, session in enumerate(bell.sessions):
        rows = (bell.session == index) & (bell.springs > 0)
        basis = bases[stage_of(session.stage)]
        within = np.minimum(bell.arc[rows], basis.arc[-1])
        design[rows, :fields] = basis.normal_at(within)
        if np.isfinite(session.anchor_arc):
            # z was set from a point of the bell that itself moved: the whole bell is read as slid back by that.
            anchor = basis.axial_at(np.array([min(session.anchor_arc, basis.arc[-1])]))
            design[rows, :fields] += sine[rows, None] * anchor
        if session.datum == "rim":
            design[rows, rim] = -sine[rows] * bell.wall
        elif session.datum == "tail":
            design[rows, home] = -sine[rows]
        design[rows, home + 1 + columns.gauges.index(session.gauge_id)] = 1.0
        design[rows, columns.shared + 1 + index] = -sine[rows]
    design[:, columns.shared] = bell.through_wall
    return design
