"""What each column of `fields` does to the gap when the shell lets go.

Per bell the resultants before release are three sign-free shares of the flow stress sigma_f,

    N_theta = -k_h sigma_f t,     N_s = k_s sigma_f t,     M_s = k_m sigma_f t^2 / 4,  M_theta = nu M_s,

and each share is a sum of few fields of the station features: splines of the flare coordinate over the spun zone, one
constant over the drawn zone, one each for the overlap at the draw end, the free edge, radius over wall and facets; and
of the laid states, which hold all three at once. Column j of `StressBasis.normal` is the gap that one unit of column
j gives, and a bell is a sum of columns. Near a rim that lies almost flat release is not linear: columns of laid states
are taken about half of the state itself, which gives back its release by large rotations to the third order. Fields are
released on the bell as it stands at its stage: trimming drops what lay outside the trim line.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.laid_state import LaidState
from springfit.learning.basis.stress_fields import FIELDS, LAID, Field, of_share
from springfit.learning.features.station_features import FLARE_KNOTS_DEG, STATION_FEATURES, StationInputs
from springfit.mechanics.shell.large_rotations import columns_about
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["SHARES", "Shares", "StressBasis", "stress_basis"]

Floats = NDArray[np.float64]

SHARES = ("hoop", "meridional", "moment")
# [1/mm] curvature of a facet that counts as one; a scale: it only says what the prior of the fields of facets is of
FACET_UNIT = 0.01
# [mm] of arc between stations of a basis; the shell refines its own mesh inside; a third of an edge's decay length
STATION_STEP = 1.5
_OF = {share: of_share(share) for share in SHARES}


@dataclass(frozen=True)
class Shares:
    """Shares of flow stress [-] at stations, each (n, columns)."""

    hoop: Floats
    meridional: Floats
    moment: Floats
    hoop_moment: Floats

    def of(self, k: Floats) -> Shares:
        """The one state of coefficients `k` (columns,), each (n, 1)."""
        return Shares(*(getattr(self, share.name) @ k[:, None] for share in fields(self)))

    def scaled(self, scale: Floats) -> Shares:
        """Every column times its number in `scale` (columns,)."""
        return Shares(*(getattr(self, share.name) * scale for share in fields(self)))


@dataclass(frozen=True)
class StressBasis:
    """Columns and their release on one bell's meridian.

    arc, slope: stations (n,) [mm, rad]; `spun` (n,) 0 where drawn, 1 where spun; `shares` of flow stress; `normal`,
    `axial` (n, columns) [mm per unit of column], tail registered; `shell`, `wall` [mm] and `flow_stress` [MPa] of the
    sheet.
    """

    arc: Floats
    slope: Floats
    spun: Floats
    shares: Shares
    normal: Floats
    axial: Floats
    shell: ShellOfRevolution
    wall: float
    flow_stress: float

    def normal_at(self, arc: Floats) -> Floats:
        """Gap columns at `arc` [mm] (m,), linear between stations; shape (m, columns)."""
        return _between(self.arc, self.normal, arc)

    def spun_at(self, arc: Floats) -> Floats:
        """Zone at `arc` [mm] (m,): 0 drawn, 1 spun."""
        return np.interp(arc, self.arc, self.spun)

    def axial_at(self, arc: Floats) -> Floats:
        """Axial motion columns at `arc` [mm] (m,); shape (m, columns)."""
        return _between(self.arc, self.axial, arc)

    def released(self, shares: Shares) -> tuple[Floats, Floats]:
        """Normal and axial motion (n, columns) [mm] of any shares on this bell."""
        return _released(self.shell, shares, self.wall, self.flow_stress)

    def by_batch(self, scale: Floats) -> StressBasis:
        """The basis with every column times its number in `scale` (columns,)."""
        return replace(
            self, shares=self.shares.scaled(scale), normal=self.normal * scale, axial=self.axial * scale
        )


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
    laid: LaidState | None,
) -> StressBasis:
    """The basis on `meridian` (the steel) up to `rim_arc` [mm], for a bell spun from `blank_rim_arc` inward.

    wall [mm], flow_stress and youngs_modulus [MPa]; draw_end: arc [mm] where drawing stopped, 0 = not drawn; `laid`
    what laying says (None: its columns are zero). Raises ValueError from the shell for a wall or modulus that is not
    positive.
    """
    points = meridian.at(_stations(rim_arc))
    inputs = StationInputs(points, wall, draw_end, blank_rim_arc)
    features = {feature.name: feature.value(inputs) for feature in STATION_FEATURES}
    shares = _shares(points.s, features, laid, flow_stress=flow_stress, poisson_ratio=poisson_ratio)
    shell = ShellOfRevolution.on_inner_surface(
        points.s, points.z, points.r, points.slope,
        wall=wall, youngs_modulus=youngs_modulus, poisson_ratio=poisson_ratio,
    )  # fmt: skip
    normal, axial = _released(shell, shares, wall, flow_stress)
    if laid is not None:
        _release_laid(shell, shares, wall, flow_stress, normal, axial)
    return StressBasis(points.s, points.slope, features["zone"], shares, normal, axial, shell, wall, flow_stress)


def _shares(
    arc: Floats, features: Mapping[str, Floats], laid: LaidState | None, *, flow_stress: float, poisson_ratio: float
) -> Shares:
    """Shares of every column, (n, columns) each: of the free fields their own, of the laid states all."""
    free = np.column_stack(
        [np.zeros_like(arc) if field.share == "laid" else _field_values(field, features) for field in FIELDS]
    )
    of = {share: free * _OF[share] for share in SHARES}
    of["hoop_moment"] = poisson_ratio * of["moment"]
    if laid is not None:
        for place in LAID:
            state = laid.at(FIELDS[place].feature, arc)
            for share, stress in state.items():
                of[share][:, place] = stress / flow_stress
    return Shares(**of)


def _release_laid(
    shell: ShellOfRevolution, shares: Shares, wall: float, flow_stress: float, normal: Floats, axial: Floats
) -> None:
    """Puts the columns of laid states into `normal` and `axial` as large rotations move them, about half of each state;
    they stay linear where that state would snap."""
    assumed = np.array([FIELDS[place].feature == "assumed" for place in LAID])
    for places in (LAID[~assumed], LAID[assumed]):
        of_state = places[0]  # the state itself, before its changes
        columns = _resultants(shares, wall, flow_stress)
        n_s, n_theta, m_s, m_theta = (0.5 * each[:, of_state] for each in columns.values())
        with contextlib.suppress(ArithmeticError):
            those = {of: each[:, places] for of, each in columns.items()}
            free = columns_about(shell, (n_s, n_theta, m_s, m_theta), **those)
            normal[:, places], axial[:, places] = free.normal, free.axial


def _resultants(shares: Shares, wall: float, flow_stress: float) -> dict[str, Floats]:
    """Resultants (n, columns) [N/mm, N] of shares."""
    force, moment = flow_stress * wall, flow_stress * wall**2 / 4
    return {
        "n_s": shares.meridional * force,
        "n_theta": -shares.hoop * force,
        "m_s": shares.moment * moment,
        "m_theta": shares.hoop_moment * moment,
    }


def _released(
    shell: ShellOfRevolution, shares: Shares, wall: float, flow_stress: float
) -> tuple[Floats, Floats]:
    """Normal and axial motion (n, columns) [mm] when the resultants of these shares are let go, linearly."""
    free = shell.release(**_resultants(shares, wall, flow_stress))
    return free.normal.copy(), free.axial.copy()


def _field_values(field: Field, features: Mapping[str, Floats]) -> Floats:
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
