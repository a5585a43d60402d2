"""How the normal displacement at a station answers to stress anywhere: the kernel of every bound."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.mechanics.shell.elements import UNKNOWNS
from springfit.mechanics.shell.load import neighbours
from springfit.mechanics.shell.mesh import gauss_points
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["Influence", "at_gauss_points", "influences", "normal_influence"]

Array = NDArray[np.float64]

GROUP = 64  # stations at once; a bound on memory


@dataclass(frozen=True)
class Influence:
    """Strains at the shell's Gauss points under a unit normal force (per radian) at each asked station.

    By Betti the normal displacement released by n* is -sum over points of weight * strain . n*.
    strain: e_s, e_theta, k_s, k_theta, (points, 4, stations) [1/N and 1/(N mm)]; weight: r ds, (points,)
    [mm^2]; wall: (points,) [mm].
    """

    strain: Array
    weight: Array
    wall: Array


def normal_influence(shell: ShellOfRevolution, at: ArrayLike) -> Influence:
    """Influence on the normal displacement of the stations numbered in `at`."""
    numbers = np.asarray(at, dtype=np.intp)
    load = np.zeros((shell.mesh.node_count, UNKNOWNS, numbers.size))
    node, column, slope = (
        shell.mesh.station_node[numbers],
        np.arange(numbers.size),
        shell.stations.slope[numbers],
    )
    load[node, 0, column], load[node, 1, column] = -np.sin(slope), np.cos(slope)
    matrix = shell.elements.strain_matrix()
    elements, points = matrix.shape[:2]
    strain = matrix.reshape(elements, -1, 8) @ neighbours(shell.solution(load), 2)
    return Influence(
        strain.reshape(elements * points, 4, -1),
        shell.elements.weight.ravel(),
        at_gauss_points(shell, shell.stations.wall),
    )


def influences(shell: ShellOfRevolution, at: ArrayLike | None = None) -> Iterator[Influence]:
    """`normal_influence` in groups of stations, so that a long bell's need not fit in memory all at once."""
    numbers = np.arange(shell.stations.s.size) if at is None else np.asarray(at, dtype=np.intp)
    for first in range(0, numbers.size, GROUP):
        yield normal_influence(shell, numbers[first : first + GROUP])


def at_gauss_points(shell: ShellOfRevolution, values: ArrayLike) -> Array:
    """Station values (one, or one a station) carried linearly to the Gauss points, (points,)."""
    given = np.broadcast_to(np.asarray(values, dtype=float), shell.stations.s.shape)
    return shell.mesh.within(shell.mesh.to_nodes(given), gauss_points()[0]).ravel()
