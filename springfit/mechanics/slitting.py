"""What a cut strip or ring tells of the bending stress locked in: a test for a scrapped bell.

A stress linear through the wall, +-S at the faces, is a moment m = S t^2/6. Cut free it curls by

    beam 2 S/(E t)      wide strip 2 S (1 - nu^2)/(E t)      plate, equal both ways 2 S (1 - nu)/(E t)

Slit along its axis, a ring (beam) or long tube (wide strip) opens from diameter D0 to D1 and S follows from
the change of curvature 2/D0 - 2/D1 (split-tube test, the linear through-wall assumption of ASTM E1928).
"""

from __future__ import annotations

from typing import Literal

__all__ = ["Piece", "curl", "slit_stress"]

Piece = Literal["beam", "strip", "plate"]


def curl(
    surface_stress: float, *, wall: float, youngs_modulus: float, poisson_ratio: float, piece: Piece
) -> float:
    """Curvature of a piece cut free [1/mm]; surface stress S [MPa], tension on the outside positive."""
    return 2 * surface_stress * _held_across(piece, poisson_ratio) / (youngs_modulus * wall)


def slit_stress(
    diameter_before: float,
    diameter_after: float,
    *,
    wall: float,
    youngs_modulus: float,
    poisson_ratio: float,
    piece: Piece,
) -> float:
    """Hoop stress at the outer face before slitting [MPa], S = E t/(1 - nu^2) (1/D0 - 1/D1).

    A ring has no 1 - nu^2. Opening (D1 > D0) means tension outside.
    """
    if min(diameter_before, diameter_after, wall) <= 0:
        raise ValueError(
            f"diameters {diameter_before}, {diameter_after}, wall {wall} mm: expected more than 0"
        )
    opened = 1 / diameter_before - 1 / diameter_after
    return youngs_modulus * wall * opened / _held_across(piece, poisson_ratio)


def _held_across(piece: Piece, nu: float) -> float:
    """How much less the piece curls than a narrow beam: what the direction across it holds back."""
    return {"beam": 1.0, "strip": 1 - nu**2, "plate": 1 - nu}[piece]
