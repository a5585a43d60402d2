"""Shares of flow stress held against the von Mises ellipse: a check on laid states and on what learning allows.

N_theta = -k_h sigma t, N_s = k_s sigma t, M_s = k_m sigma t^2/4 before release, sigma the flow stress when let go.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

LARGEST = 2 / np.sqrt(3)  # of sigma that one stress can be in the ellipse


def excess(hoop: ArrayLike, meridional: ArrayLike, moment: ArrayLike) -> NDArray[np.float64]:
    """How far the shares lie outside what can be locked in, <= 1 when they can.

    The larger of the membrane's place in the ellipse, sqrt(k_h^2 + k_h k_s + k_s^2) (its square is the quadratic of the
    stresses; hoop counts negative), and |k_m|/[L (1 - (k_s/L)^2)], L = 2/sqrt 3: with |s| <= L sigma the moment beside
    a force is greatest when one face has yielded each way, M = L sigma t^2/4 (1 - (N/(L sigma t))^2).
    """
    h, s, m = (np.asarray(v, dtype=float) for v in (hoop, meridional, moment))
    room = np.maximum(LARGEST * (1 - (s / LARGEST) ** 2), 1e-12)
    worst: NDArray[np.float64] = np.maximum(np.sqrt(h**2 + h * s + s**2), np.abs(m) / room)
    return worst
