"""The release of whole fields by large rotations: what columns taken about half of a state are held to."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from springfit.mechanics.shell.fields import Release, release_of, stacked
from springfit.mechanics.shell.large_rotations import LargeRelease
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["release_large"]


def release_large(
    shell: ShellOfRevolution,
    n_s: ArrayLike | None = None,
    n_theta: ArrayLike | None = None,
    m_s: ArrayLike | None = None,
    m_theta: ArrayLike | None = None,
) -> Release:
    """As `ShellOfRevolution.release` with large rotations; one field after another, each (n,) or (n, fields).

    `normal` and `tangential` are taken in the undeformed frame. Raises ArithmeticError when no stable shape
    is found.
    """
    fields, single = stacked(shell.stations.s.size, n_s, n_theta, m_s, m_theta)
    problem = LargeRelease(shell)
    nodes = np.stack([problem.released(field) for field in np.moveaxis(fields, -1, 0)], axis=-1)
    return release_of(shell.mesh.of_stations(nodes), shell.stations.slope, single=single)
