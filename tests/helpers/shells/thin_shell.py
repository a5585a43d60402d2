"""The shell of the closed forms: E 110 000 MPa, nu 0.33, wall 0.5 mm, radius 60 mm unless said."""

from __future__ import annotations

import numpy as np

from springfit.mechanics.shell.release import ShellOfRevolution

MODULUS, POISSON, WALL, RADIUS = 110_000.0, 0.33, 0.5, 60.0
BENDING = 1285.863914  # E t^3 / 12 (1 - nu^2), N mm
TENTH_PERMILLE, PERMILLE = 1e-4, 1e-3
MEMBRANE_EXACT = 1e-6


def shell(s, z, r, slope, *, wall=WALL, modulus=MODULUS, poisson=POISSON, tail="axial", fineness=0.2):
    return ShellOfRevolution(
        s, z, r, slope, wall=wall, youngs_modulus=modulus, poisson_ratio=poisson, tail=tail, fineness=fineness
    )


def on_rim(tube: ShellOfRevolution, value: float = 1.0) -> np.ndarray:
    load = np.zeros_like(tube.stations.s)
    load[-1] = value
    return load


def at(tube: ShellOfRevolution, values: np.ndarray, distance: float) -> float:
    """Value at a distance from the rim that is a station."""
    return float(values[np.argmin(np.abs(tube.stations.s[-1] - distance - tube.stations.s))])
