"""The shell under dead loads, and what stays in it after release: for checks against closed forms alone.

No command asks for either, so they are not in the package; they use its elements and its factor.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.mechanics.shell.assembly import gathered
from springfit.mechanics.shell.elements import UNKNOWNS, elasticity, element_set
from springfit.mechanics.shell.fields import Release, release_of, stacked
from springfit.mechanics.shell.load import neighbours
from springfit.mechanics.shell.release import ShellOfRevolution

Array = NDArray[np.float64]


class Resultants(NamedTuple):
    """Forces `n_s`, `n_theta` [N/mm], moments `m_s`, `m_theta` [N] at the stations; outer face in tension is +."""

    n_s: Array
    n_theta: Array
    m_s: Array
    m_theta: Array


def loaded(
    shell: ShellOfRevolution,
    *,
    ring_radial: ArrayLike | None = None,
    ring_axial: ArrayLike | None = None,
    ring_moment: ArrayLike | None = None,
    pressure: float = 0.0,
) -> tuple[Release, Resultants]:
    """Displacement and resultants under dead loads.

    Ring loads per unit of circumference at the stations, (n,): outward and toward the rim [N/mm]; a moment that adds
    to the slope [N]. `pressure` acts along the outward normal [MPa].
    """
    load = np.zeros((shell.mesh.node_count, UNKNOWNS, 1))
    rings = {0: ring_axial, 1: ring_radial, 3: ring_moment}
    for unknown, ring in rings.items():
        if ring is not None:
            load[shell.mesh.station_node, unknown, 0] = np.asarray(ring, dtype=float) * shell.stations.r
    e = shell.elements
    push = np.stack([-e.sine, e.cosine], axis=-1)[..., None] * e.value[..., None, :]
    local = (e.rotated(push) * (pressure * e.weight)[..., None]).sum(axis=1)[..., None]
    unknowns = shell.solution(load + gathered(local))
    moved = release_of(shell.mesh.of_stations(unknowns), shell.stations.slope, single=True)
    return moved, _resultants(_elastic(shell, unknowns)[..., 0])


def rotation(released: Release) -> Array:
    """What a release adds to the slope [rad], (stations[, fields])."""
    return released.unknowns[:, 3]


def resultants_left(shell: ShellOfRevolution, *parts: ArrayLike | None, **named: ArrayLike) -> Resultants:
    """What stays in the part after release, at the stations: n* + C e(u). Arguments as in `release`."""
    names = ("n_s", "n_theta", "m_s", "m_theta")
    given = {**dict(zip(names, parts, strict=False)), **named}
    fields, single = stacked(shell.stations.s.size, *(given.get(name) for name in names))
    left = fields + _elastic(shell, shell.nodes_released(fields))
    return _resultants(left[..., 0] if single else left)


def _resultants(values: Array) -> Resultants:
    return Resultants(*np.moveaxis(values, 1, 0))


def _elastic(shell: ShellOfRevolution, unknowns: Array) -> Array:
    """C e(u) at the stations: the mean of the two elements that meet there, (stations, 4, fields)."""
    ends = np.array([0.0, 1.0])
    strain = element_set(*shell.mesh.nodes, ends, ends).strain_matrix()
    stiffness = elasticity(
        shell.mesh.within(shell.mesh.wall, ends), shell.youngs_modulus, shell.poisson_ratio
    )
    local = (stiffness @ strain) @ neighbours(unknowns, 2)[:, None]  # (elements, 2, 4, fields)
    total = np.zeros_like(unknowns)
    total[:-1] += local[:, 0]
    total[1:] += local[:, 1]
    total[1:-1] /= 2
    return shell.mesh.of_stations(total)
