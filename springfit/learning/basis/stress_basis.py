"""Basis fields of the locked-in state, and what each does to the gap when the shell lets go.

Per bell the resultants before release are three sign-free shares of the flow stress sigma_f,

    N_theta = -k_h sigma_f t,     N_s = k_s sigma_f t,     M_s = k_m sigma_f t^2 / 4,  M_theta = nu M_s,

and each share is a sum of few fields of the station features: splines of the flare coordinate over the spun zone, one
constant over the drawn zone, one each for the overlap at the draw end, the free edge, radius over wall and facets. The
release is linear, so column j of `StressBasis.normal` is the gap that one unit of field j gives, and a bell is a sum of
columns. Fields are released on the bell as it stands at its stage: trimming drops what lay outside the trim line.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from springfit.geometry.meridian import Meridian
from springfit.learning.features.station_features import FLARE_KNOTS_DEG, STATION_FEATURES, Bench
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["FIELDS", "Field", "StressBasis", "stress_basis"]

Floats = NDArray[np.float64]

FACET_UNIT = 0.01  # [1/mm] curvature of a facet that counts as one
STATION_STEP = 1.5  # [mm] of arc between stations of a basis; the shell refines its own mesh inside


@dataclass(frozen=True)
class Field:
    """One basis field: its `share` ("hoop", "meridional" or "moment"), the feature it follows, and for splines of the
    flare coordinate its place in the row (else -1). `by_nose`: scaled by the batch's tool nose."""

    name: str
    share: str
    feature: str
    place: int = -1
    by_nose: bool = False


def _splines(share: str, count: int, by_nose: bool = False) -> list[Field]:
    tail = "_by_nose" if by_nose else ""
    return [Field(f"{share}_flare{tail}_{i}", share, f"flare{count}", i, by_nose) for i in range(count)]


FIELDS: tuple[Field, ...] = (
    *_splines("hoop", 13),
    *_splines("meridional", 6),
    *_splines("meridional", 6, by_nose=True),
    *_splines("moment", 7),
    Field("hoop_drawn", "hoop", "drawn"),
    Field("meridional_drawn", "meridional", "drawn"),
    Field("hoop_overlap", "hoop", "overlap"),
    Field("hoop_edge", "hoop", "edge"),
    Field("moment_edge", "moment", "edge"),
    Field("hoop_radius", "hoop", "radius_over_wall"),
    Field("moment_radius", "moment", "radius_over_wall"),
    Field("hoop_facet", "hoop", "facet"),
    Field("moment_facet", "moment", "facet"),
)


@dataclass(frozen=True)
class StressBasis:
    """Fields and their release on one bell's meridian.

    arc, slope: stations (n,) [mm, rad]; `spun` (n,) 0 where drawn, 1 where spun; `shares` (n, fields) of
    flow stress [-]; `normal`, `axial`, `tangential`
    (n, fields) [mm per unit of field], tail registered.
    """

    arc: Floats
    slope: Floats
    spun: Floats
    shares: Floats
    normal: Floats
    axial: Floats
    tangential: Floats

    def normal_at(self, arc: Floats) -> Floats:
        """Gap columns at `arc` [mm] (m,), linear between stations; shape (m, fields)."""
        return _between(self.arc, self.normal, arc)

    def spun_at(self, arc: Floats) -> Floats:
        """Zone at `arc` [mm] (m,): 0 drawn, 1 spun."""
        return np.interp(arc, self.arc, self.spun)

    def axial_at(self, arc: Floats) -> Floats:
        """Axial motion columns at `arc` [mm] (m,); shape (m, fields)."""
        return _between(self.arc, self.axial, arc)


def stress_basis(
    meridian: Meridian,
    *,
    rim_arc: float,
    blank_rim_arc: float,
    draw_end: float,
    wall: float,
    flow_stress: float,
    youngs_modulus: float,
    poisson_ratio: float,
) -> StressBasis:
    """The basis on `meridian` (the steel) up to `rim_arc` [mm], for a bell spun from `blank_rim_arc` inward.

    wall [mm], flow_stress and youngs_modulus [MPa]; draw_end: arc [mm] where drawing stopped, 0 = not drawn.
    Raises ValueError from the shell for a wall or modulus that is not positive.
    """
    points = meridian.at(_stations(rim_arc))
    bench = Bench(points, wall, draw_end, blank_rim_arc)
    features = {feature.name: feature.value(bench) for feature in STATION_FEATURES}
    shares = np.column_stack([_field_values(field, features) for field in FIELDS])
    shell = ShellOfRevolution.on_inner_surface(
        points.s, points.z, points.r, points.slope,
        wall=wall, youngs_modulus=youngs_modulus, poisson_ratio=poisson_ratio,
    )  # fmt: skip
    released = shell.release(**_resultants(shares, wall, flow_stress, poisson_ratio))
    return StressBasis(
        arc=points.s, slope=points.slope, spun=features["zone"], shares=shares,
        normal=released.normal, axial=released.axial, tangential=released.tangential,
    )  # fmt: skip


def _resultants(shares: Floats, wall: float, flow_stress: float, poisson_ratio: float) -> dict[str, Floats]:
    """Resultants [N/mm, N] of one unit of each field."""
    of = {
        name: np.array([field.share == name for field in FIELDS]) for name in ("hoop", "meridional", "moment")
    }
    force, moment = flow_stress * wall, flow_stress * wall**2 / 4
    bending = shares * of["moment"] * moment
    return {
        "n_theta": -shares * of["hoop"] * force,
        "n_s": shares * of["meridional"] * force,
        "m_s": bending,
        "m_theta": poisson_ratio * bending,
    }


def _field_values(field: Field, features: dict[str, Floats]) -> Floats:
    spun = features["zone"]
    if field.feature.startswith("flare"):
        return spun * _spline_row(int(field.feature[5:]))(features["flare"])[:, field.place]
    if field.feature == "drawn":
        return 1.0 - spun
    if field.feature == "facet":
        return spun * features["facet"] / FACET_UNIT
    if field.feature == "radius_over_wall":
        return spun * features["radius_over_wall"]
    return features[field.feature]


@cache
def _spline_row(count: int) -> BSpline:
    """Quadratic B-splines over the flare coordinate, `count` of them, summing to one."""
    degree, last = 2, len(FLARE_KNOTS_DEG) - 1.0
    inner = np.linspace(0.0, last, count - degree + 1)
    knots = np.r_[[0.0] * degree, inner, [last] * degree]
    return BSpline(knots, np.eye(count), degree)


def _stations(rim_arc: float) -> Floats:
    return np.linspace(0.0, rim_arc, int(np.ceil(rim_arc / STATION_STEP)) + 1)


def _between(arc: Floats, columns: Floats, wanted: Floats) -> Floats:
    place = np.clip(np.searchsorted(arc, wanted) - 1, 0, len(arc) - 2)
    share = ((wanted - arc[place]) / (arc[place + 1] - arc[place]))[:, None]
    return (1 - share) * columns[place] + share * columns[place + 1]
