"""The ridge's columns: plain fields of locked-in stress, each let go by a linear shell, times numbers of the batch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ..mandrel_lines import SteelLine
from ..springfit_parts import ShellOfRevolution

__all__ = ["BATCH_FIELDS", "BELL_FIELDS", "COLUMNS", "FIELDS", "Released", "batch_numbers", "released_fields"]

Array = NDArray[np.float64]

STRESS_MPA, MODULUS_MPA, POISSON_RATIO = 150.0, 110.0e3, 0.34  # one sheet for all: the columns make up for it
USUAL_WALL_MM = 0.5
STATION_MM = 1.5
HUMPS = (0.1, 0.3, 0.5, 0.7, 0.9)  # places of humps along the spun part
DRAW_END_WIDTH_MM = 12.0
CURVATURE_UNIT = 0.05  # 1/mm

HOOP = ("hoop", "hoop_start", "hoop_sine", "hoop_drawn", "hoop_edge", *(f"hump_{i}" for i in range(len(HUMPS))))
FIELDS = (*HOOP, "moment", "moment_curved", "moment_sine", "meridional", "meridional_sine")
# field, number of the batch: about forty.
COLUMNS: tuple[tuple[str, str], ...] = (
    *(("hoop", number) for number in ("one", "C23000", "C22000", "C75200", "grain", "hard", "partial", "none", "passes",
                                      "wall", "nose", "hump")),
    *(("hoop_start", number) for number in ("one", "grain", "passes")),
    *(("hoop_sine", number) for number in ("one", "grain", "passes", "wall")),
    *(("hoop_drawn", number) for number in ("one", "acetal", "lead")),
    ("hoop_edge", "one"),
    *((f"hump_{i}", "one") for i in range(len(HUMPS))),
    *(("moment", number) for number in ("one", "grain", "passes", "nose")),
    *(("moment_curved", number) for number in ("one", "passes", "wall")),
    ("moment_sine", "one"), ("meridional", "one"), ("meridional", "nose"), ("meridional_sine", "one"),
)  # fmt: skip
BATCH_FIELDS = ("hoop", "hoop_sine", "hoop_start", "moment", "moment_curved", *(f"hump_{i}" for i in range(len(HUMPS))))
BELL_FIELDS = ("hoop", "hoop_sine")


@dataclass(frozen=True, eq=False)
class Released:
    """Gap and axial motion (n, fields) [mm] at arcs `s` (n,) when one unit of each of FIELDS is let go."""

    s: Array
    normal: Array
    axial: Array

    def gap(self, arc: Array) -> Array:
        """Gap columns at arcs (m, fields)."""
        return np.column_stack([np.interp(arc, self.s, column) for column in self.normal.T])

    def along(self, arc: Array) -> Array:
        """Axial columns at arcs (m, fields)."""
        return np.column_stack([np.interp(arc, self.s, column) for column in self.axial.T])


def batch_numbers(conditions: dict[str, Any]) -> dict[str, float]:
    """The numbers of a batch by name, 0 the usual; a blank is the usual."""

    def given(name: str, usual: Any) -> Any:
        value = conditions.get(name)
        return usual if value is None or pd.isna(value) else value

    temper, alloy, anneal, ring = (
        given(name, "") for name in ("temper", "alloy", "anneal", "draw_ring")
    )
    grain = float(temper[2:]) / 1000.0 if str(temper).startswith("OS") else 0.035
    numbers = {name: float(alloy == name) for name in ("C23000", "C22000", "C75200")}
    numbers |= {"partial": float(anneal == "partial"), "none": float(anneal == "none")}
    numbers |= {"acetal": float(ring == "acetal"), "lead": float(ring == "lead")}
    hump = {"none": -1.5, "low": -0.7, "good": 0.0, "high": 1.0}[given("hump", "good")]
    return numbers | {
        "one": 1.0,
        "grain": (grain**-0.5 - 0.035**-0.5) / 3.0,
        "hard": float(str(temper).startswith("H")),
        "passes": (float(given("passes", 2)) - 2.0) / 1.5,
        "wall": float(np.log(given("wall_mm", USUAL_WALL_MM) / USUAL_WALL_MM)) / 0.15,
        "nose": float(np.log(given("tool_nose_mm", 8.0) / 8.0)) / 0.5,
        "hump": hump,
    }


def released_fields(steel: SteelLine, conditions: dict[str, Any], *, stage: str) -> Released:
    """The fields on the part that is there at a stage, let go."""
    wall = float(conditions["wall_mm"])
    blank = steel.arc_at_radius(float(conditions["blank_rim_mm"]) / 2.0)
    end = blank if stage == "spun" else steel.arc_at_radius(float(conditions["finished_rim_mm"]) / 2.0)
    s = np.linspace(0.0, end, int(np.ceil(end / STATION_MM)) + 1)
    z, r, slope, curvature = (
        np.interp(s, steel.s, column) for column in (steel.z, steel.r, steel.slope, steel.curvature)
    )
    draw_end = conditions.get("draw_end_mm")
    draw_end = 0.6 * end if draw_end is None or pd.isna(draw_end) else steel.arc_at_z(float(draw_end))
    fields = _fields(s, r, slope, curvature, draw_end=draw_end, blank=blank, wall=wall)
    force, kind = STRESS_MPA * wall, np.array([name.split("_")[0] for name in FIELDS])
    bending = fields * (kind == "moment") * force * wall / 4.0
    shell = ShellOfRevolution.on_inner_surface(
        s, z, r, slope, wall=wall, youngs_modulus=MODULUS_MPA, poisson_ratio=POISSON_RATIO
    )
    freed = shell.release(
        n_theta=-fields * np.isin(kind, ("hoop", "hump")) * force, n_s=fields * (kind == "meridional") * force,
        m_s=bending, m_theta=POISSON_RATIO * bending,
    )  # fmt: skip
    return Released(s, np.asarray(freed.normal), np.asarray(freed.axial))


def _fields(
    s: Array, r: Array, slope: Array, curvature: Array, *, draw_end: float, blank: float, wall: float
) -> Array:
    """Shares of flow stress (n, fields), in the order of FIELDS."""
    spun = 0.5 * (1.0 + np.tanh((s - draw_end) / 3.0))
    along = (s - draw_end) / (blank - draw_end)
    sine, curved = np.sin(slope), curvature / CURVATURE_UNIT
    width = 0.7 * (HUMPS[1] - HUMPS[0])
    values = {
        "hoop": spun, "hoop_sine": spun * sine, "hoop_drawn": 1.0 - spun,
        "hoop_start": np.exp(-0.5 * ((s - draw_end) / DRAW_END_WIDTH_MM) ** 2),
        "hoop_edge": np.exp(-(blank - s) / (3.0 * np.sqrt(r * wall))),
        **{f"hump_{i}": spun * np.exp(-0.5 * ((along - at) / width) ** 2) for i, at in enumerate(HUMPS)},
        "moment": spun, "moment_curved": spun * curved, "moment_sine": spun * sine,
        "meridional": spun, "meridional_sine": spun * sine,
    }  # fmt: skip
    return np.column_stack([values[name] for name in FIELDS])
