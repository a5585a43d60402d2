"""What keeps the metal evenly spread within an element.

Two Gauss points see nothing of the metal sliding to and fro between them. The unevenness of an element, the mean of the
stretches at its ends less that of its chord, g = (|x1'| + |x2'|)/2 - |x2 - x1|/step, is therefore tied by a weak spring
to what it is unstressed: energy EVENNESS * E/(1 - nu) * wall * r * step * (g - g0)^2 / 2. An element bent to the radius
of a small nose has g of a thousandth, so the spring adds a tenth of a megapascal there.
"""

from __future__ import annotations

__all__ = ["add_evenness", "unevenness"]

import math

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.compiled import inner

Array = NDArray[np.float64]

EVENNESS = 1.0e-3  # of the sheet's own stiffness: adds a tenth of a MPa (above)


def unevenness(nodal: Array, step: Array) -> Array:
    """g of every element (elements,) [-] from nodal values (m, 4) and element lengths [mm] in the parameter."""
    stretch = np.hypot(nodal[:, 2], nodal[:, 3])
    chord = np.hypot(np.diff(nodal[:, 0]), np.diff(nodal[:, 1]))
    return np.asarray(0.5 * (stretch[:-1] + stretch[1:]) - chord / step)


@inner
def add_evenness(e, nodal, sheet, force, stiffness):  # type: ignore[no-untyped-def]
    """Adds the spring's share to `force` (elements, 8) and `stiffness` (elements, 8, 8) of element e."""
    step = sheet.elements.step[e]
    first = sheet.sections.reference[e * sheet.elements.weight.shape[1]]
    k = EVENNESS * sheet.sections.metal.kx * 2.0 * sheet.half_wall * first[2] * step
    z, r = nodal[e + 1, 0] - nodal[e, 0], nodal[e + 1, 1] - nodal[e, 1]
    near, far = math.hypot(nodal[e, 2], nodal[e, 3]), math.hypot(nodal[e + 1, 2], nodal[e + 1, 3])
    chord = math.hypot(z, r)
    off = 0.5 * (near + far) - chord / step - sheet.unevenness[e]
    slope = (
        z / (chord * step), r / (chord * step), 0.5 * nodal[e, 2] / near, 0.5 * nodal[e, 3] / near,
        -z / (chord * step), -r / (chord * step), 0.5 * nodal[e + 1, 2] / far, 0.5 * nodal[e + 1, 3] / far,
    )  # fmt: skip
    for i in range(8):
        force[e, i] += k * off * slope[i]
        for j in range(8):
            stiffness[e, i, j] += k * slope[i] * slope[j]
    # Second derivatives of a length by its vector: across it, one over it.
    for node in range(2):
        length = near if node == 0 else far
        c, b = nodal[e + node, 2] / length, nodal[e + node, 3] / length
        _add_across(e, 4 * node + 2, 4 * node + 2, 0.5 * k * off / length, c, b, stiffness)
    for i in range(2):
        for j in range(2):
            sign = 1.0 if i == j else -1.0
            _add_across(e, 4 * i, 4 * j, -sign * k * off / (chord * step), z / chord, r / chord, stiffness)


@inner
def _add_across(e, row, column, factor, c, b, stiffness):  # type: ignore[no-untyped-def]
    """`factor` times the projector across (c, b) at two rows and columns of element e."""
    stiffness[e, row, column] += factor * b * b
    stiffness[e, row, column + 1] -= factor * b * c
    stiffness[e, row + 1, column] -= factor * b * c
    stiffness[e, row + 1, column + 1] += factor * c * c
