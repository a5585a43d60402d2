"""The basis of one batch: its meridian, sheet and tool turned into columns of locked-in stress on a shell."""

from __future__ import annotations

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.laid_state import LaidState
from springfit.learning.basis.spun_sheet import (
    blank_rim_arc,
    draw_end_arc,
    sheet_flow_stress,
    stage_rim_arc,
)
from springfit.learning.basis.stress_basis import StressBasis, stress_basis
from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.mechanics.metal.alloys import alloy
from springfit.records.conditions import Conditions

__all__ = ["batch_basis"]


def batch_basis(
    meridian: Meridian,
    conditions: Conditions,
    laid: LaidState | None,
    *,
    stage: str = "trimmed",
    wall: float | None = None,
) -> StressBasis:
    """Columns and their release for a bell spun on `meridian` under `conditions`, at `stage`; `laid` is what laying
    says for both (None: those columns are zero).

    `stage` "spun" ends at the blank rim, every other at the finished rim. `wall` [mm] replaces the stated one.
    Raises UnknownAlloyError for an alloy that is not in the table.
    """
    metal = alloy(conditions.alloy)
    basis = stress_basis(
        meridian,
        rim_arc=stage_rim_arc(meridian, conditions, stage),
        blank_rim_arc=blank_rim_arc(meridian, conditions),
        draw_end=draw_end_arc(meridian, conditions),
        wall=wall or conditions.wall_or_usual,
        flow_stress=sheet_flow_stress(metal, conditions),
        youngs_modulus=metal.youngs_modulus,
        poisson_ratio=metal.poisson_ratio,
        laid=laid,
    )
    told = {feature.name: feature.value(conditions) for feature in BATCH_FEATURES}
    scale = np.array([told[field.by] if field.by else 1.0 for field in FIELDS])
    return basis.by_batch(np.nan_to_num(scale))
