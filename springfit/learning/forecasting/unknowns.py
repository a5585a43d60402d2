"""What is not known of a forecast, unknown by unknown and each by its name, so that two forecasts can share some.

A column is what one standard deviation of one unknown moves. Two bells asked of one shop hang on the same unknowns, as
far as these have the same name; their difference moves by the difference of the two columns, and what both share
cancels:

    var(b - a) = sum over names of (b_name - a_name)^2
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Unknowns", "difference_of", "joined_unknowns"]

Floats = NDArray[np.float64]
Name = tuple[Hashable, ...]


@dataclass(frozen=True)
class Unknowns:
    """By column: `names` (m of them, each once) of the unknowns, and what one sd of each moves, `moves` (n, m)."""

    names: tuple[Name, ...]
    moves: Floats

    def moved(self, rows: Floats) -> Unknowns:
        """The same unknowns as seen through `rows` (k, n)."""
        return Unknowns(self.names, rows @ self.moves)

    @property
    def variance(self) -> Floats:
        """Of each row, (n,)."""
        return np.asarray((self.moves**2).sum(axis=1))


def joined_unknowns(*parts: Unknowns) -> Unknowns:
    """Unknowns of several kinds side by side; each name stands in one part alone."""
    return Unknowns(tuple(name for part in parts for name in part.names), np.hstack([part.moves for part in parts]))


def difference_of(first: Unknowns, second: Unknowns) -> Unknowns:
    """What moves the difference `second` less `first`, row by row: a name that both have is one unknown."""
    place = {name: column for column, name in enumerate(first.names)}
    own = [name for name in second.names if name not in place]
    moves = np.hstack((-first.moves, np.zeros((len(first.moves), len(own)))))
    place.update({name: len(first.names) + number for number, name in enumerate(own)})
    moves[:, [place[name] for name in second.names]] += second.moves
    return Unknowns((*first.names, *own), moves)
