"""How what a batch has of its own, and its features and labels, act on its columns.

A batch departs from its shop in size, by a log multiplier, and in shape, along DEPARTURES: each of `LAID_CHANGES`, and
tilts, bows and edges of the free fields. What its features and labels tell of both is t = (eta, d), TOLD numbers; what
it has of its own are OWN numbers u: two of size, u_0 and u_1, and e of shape. Two links, with D the DEPARTURES and
beta' = beta + D d:

    free    c = beta' m(eta + u_0) + D e for hoop, beta' m(eta + u_1) + D e for the other shares
    laid    c = beta' m(eta + u_0) + D e for laid columns; free fields are beta' + D e, with u_1 more of hoop share
            all over

So batches differ in shape as well as in size; without that their rims, of either sign, were taken for the shop's own.
What a batch has of its own in shape is not multiplied by its own size: a larger size would make every departure
cheaper, so that the likeliest sizes of all batches would lie above nought and the shop's columns below what its bells
show, by a fifth on the mean where departures are large.

m(x) = exp(L tanh(x / L)) is exp(x) for small x and never passes exp(L), so that a batch that the columns cannot explain
does not run away with its multiplier; eta = x gamma + labels, and d is linear in the features x.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS, LAID_CHANGES, of_share

__all__ = [
    "ALONG", "DEPARTURES", "FREE_LINK", "HOOP", "LAID_LINK", "MULTIPLIERS", "OF_BATCH", "OWN", "TOLD", "Link", "Linked",
]  # fmt: skip

Floats = NDArray[np.float64]

LARGEST_LOG = 2.0  # of a multiplier: beyond a factor of seven no sheet is brass of any temper
MULTIPLIERS = 2  # unknowns of a batch's size; hoop, and all along the bell


def _row(name: str, degree: int) -> Floats:
    """Free fields (fields,) that make a Legendre polynomial of this degree of one row of splines; 1 at its rim end."""
    row = f"{name}_flare"
    places = [place for place, field in enumerate(FIELDS) if field.place >= 0 and field.name.startswith(row)]
    told = np.zeros(len(FIELDS))
    told[places] = np.polynomial.legendre.Legendre.basis(degree)(np.linspace(-1.0, 1.0, len(places)))
    return told


def _single(name: str) -> Floats:
    return np.array([float(field.name == name) for field in FIELDS])


# What batches of one shop may have more of than others, and the spread each is held by.
_DEPARTURES = (
    *((f"batch_{change}", _single(f"laid_{change}")) for change in LAID_CHANGES),
    ("batch_hoop_shape", _row("hoop", 1)), ("batch_hoop_shape", _row("hoop", 2)),
    ("batch_moment_shape", _row("moment", 0)), ("batch_moment_shape", _row("moment", 1)),
    ("batch_hoop_edge", _single("hoop_edge")), ("batch_moment_edge", _single("moment_edge")),
)  # fmt: skip
DEPARTURES = np.column_stack([column for _, column in _DEPARTURES])
"""Columns (fields, departures) along which batches differ in shape."""
OF_BATCH = ("batch_hoop", "batch_along", *(spread for spread, _ in _DEPARTURES))
"""The spread of each of a batch's own unknowns, (OWN,)."""
OWN = len(OF_BATCH)
TOLD = 1 + len(_DEPARTURES)
HOOP = of_share("hoop", "laid").astype(float)
ALONG = 1.0 - HOOP  # meridional and moment shares of a bell have a multiplier in common
_HOOP_ROW = np.array([field.share == "hoop" and field.place >= 0 for field in FIELDS], dtype=float)


@dataclass(frozen=True)
class Linked:
    """Columns of one batch at one place: multipliers `scale` (fields,), coefficients `k` (fields,), and derivatives of
    k: `by_told` (fields, TOLD), and by the batch's own unknowns `own` (fields, OWN)."""

    scale: Floats
    k: Floats
    by_told: Floats
    own: Floats


@dataclass(frozen=True)
class Link:
    """Columns (fields,) multiplied with eta and u_0 (`first`) and with eta and u_1 (`second`), or to which u_1 adds
    (`level`)."""

    first: Floats
    second: Floats
    level: Floats

    def at(self, beta: Floats, told: Floats, u: Floats) -> Linked:
        """A batch of shop coefficients `beta` (fields,), what is `told` of it (TOLD,) and its own unknowns `u`."""
        sized = self.first + self.second
        bent = np.tanh((told[0] * sized + self.first * u[0] + self.second * u[1]) / LARGEST_LOG)
        scale, rate = np.exp(LARGEST_LOG * bent), 1.0 - bent**2
        of_size = scale * (beta + self.level * u[1] + DEPARTURES @ told[1:])
        by_size = of_size * rate
        return Linked(
            scale,
            of_size + DEPARTURES @ u[MULTIPLIERS:],
            by_told=np.column_stack((by_size * sized, DEPARTURES * scale[:, None])),
            own=np.column_stack((by_size * self.first, by_size * self.second + self.level * scale, DEPARTURES)),
        )


_NONE = np.zeros(len(FIELDS))
FREE_LINK = Link(HOOP, ALONG, _NONE)
LAID_LINK = Link(of_share("laid").astype(float), _NONE, _HOOP_ROW)
