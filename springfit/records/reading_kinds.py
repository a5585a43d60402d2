"""What a reading's words mean: every kind of measurement and every datum, declared once.

Who has to know what a value is, or what z = 0 was tied to, asks this table and writes no list of kinds of his own. A
new kind is a row here, a way to its observation in learning, and nothing else of the record book.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["DATUMS", "DIAMETERS", "FROM_THE_TAIL", "KINDS", "Datum", "ReadingKind", "z_from_tail"]


@dataclass(frozen=True)
class ReadingKind:
    """A kind of measurement: what its `z` and its `value` are.

    `diameter`: the value is the diameter of a ring on the bell (else a length along the normal).
    `through_wall`: the bell's wall adds to the reading: a thicker wall than stated reads as a larger gap.
    `of_place`: it tells where the bell is (else only how thick it is).
    `of_specimen`: an original can be measured so too.
    """

    name: str
    z: str
    value: str
    diameter: bool
    through_wall: bool
    of_place: bool = True
    of_specimen: bool = False


@dataclass(frozen=True)
class Datum:
    """What `zero` of z was tied to. `toward_rim`: +1 where z grows toward the rim, -1 where it grows toward the tail, 0
    where it may run either way. `tied`: z = 0 lies at a known place of bell or mandrel."""

    name: str
    zero: str
    toward_rim: int
    tied: bool


_KINDS = (
    ReadingKind(
        "outside_diameter", "station where it was taken", "diameter of the outside surface",
        diameter=True, through_wall=True, of_specimen=True,
    ),
    ReadingKind(
        "inside_diameter", "station where it was taken", "diameter of the inside surface",
        diameter=True, through_wall=False, of_specimen=True,
    ),
    ReadingKind(
        "axial_at_diameter", "the reading: station at which the ring of that size comes to rest",
        "the ring's diameter, on the outside surface",
        diameter=True, through_wall=True,
    ),
    ReadingKind(
        "clearance", "mandrel station, bell seated",
        "normal clearance per side: the thickest leaf that passes; 0 = the thinnest does not pass",
        diameter=False, through_wall=False, of_specimen=True,
    ),
    ReadingKind(
        "wall", "station where it was taken", "thickness along the normal",
        diameter=False, through_wall=True, of_place=False,
    ),
)  # fmt: skip

_DATUMS = (
    Datum("witness", "the bell's scribed line, at witness_z on the mandrel before release", +1, tied=True),
    Datum("tail", "the mandrel's tail, the bell pushed back on by hand: the seat is uncertain", +1, tied=True),
    Datum("rim", "the rim's face; z is the distance back toward the tail", -1, tied=True),
    Datum("free", "nothing: a scan without axial reference", 0, tied=False),
)

KINDS: dict[str, ReadingKind] = {kind.name: kind for kind in _KINDS}
DATUMS: dict[str, Datum] = {datum.name: datum for datum in _DATUMS}
# Datums from which z grows toward the rim, as the steel's own does
FROM_THE_TAIL: tuple[str, ...] = tuple(datum.name for datum in _DATUMS if datum.toward_rim > 0)
DIAMETERS: tuple[str, ...] = tuple(kind.name for kind in _KINDS if kind.diameter)


def z_from_tail(datum: Any, z: ArrayLike, rim_z: ArrayLike) -> NDArray[np.float64]:
    """Stations z [mm] counted from the tail, of stations written down from each `datum` (one, or one for each).

    rim_z: station of the rim, from the tail [mm]. What was counted back from the rim lies as far before it; NaN where
    the rim is. All else stands as it was written, where z is tied to nothing too: such a sheet is slid by who asks. The
    same again turns a station of the tail into one of its datum.
    """
    back = np.isin(datum, [name for name, of_datum in DATUMS.items() if of_datum.toward_rim < 0])
    return np.where(back, np.subtract(rim_z, z), z)
