"""The two tables of the package: constants of each alloy (alloys.csv), strength by temper (tempers.csv).

Every row carries its source; a figure that was recalled and not seen says "from memory", one made from others
says "estimated" or "taken as". Yield keeps its definition: 0.2 % offset, or the stress at 0.5 % extension
under load. At hard tempers the two part (C26000 H04: 495 and 414 MPa), so they are never averaged.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import dataclass, field
from functools import cache
from importlib import resources

__all__ = ["OFFSET", "UNDER_LOAD", "Alloy", "TemperRow", "read_alloys"]

OFFSET = "offset 0.2 %"
UNDER_LOAD = "under load 0.5 %"


@dataclass(frozen=True)
class TemperRow:
    """Strength of one temper [MPa]: typical, low and high over the sources, and the yield's definition."""

    temper: str
    definition: str
    yield_strength: float
    yield_low: float
    yield_high: float
    ultimate: float
    ultimate_low: float
    ultimate_high: float
    source: str


@dataclass(frozen=True)
class Alloy:
    """A sheet alloy: modulus with its range [MPa], Poisson's ratio [-], density [g/cm^3], tempers."""

    uns: str
    name: str
    en_equivalent: str
    youngs_modulus: float
    youngs_low: float
    youngs_high: float
    poisson_ratio: float
    density: float
    source: str
    tempers: tuple[TemperRow, ...] = field(repr=False)

    @property
    def definition(self) -> str:
        """The yield definition used for this alloy: the 0.2 % offset where the table has it annealed."""
        offset = any(row.temper == "annealed" and row.definition == OFFSET for row in self.tempers)
        return OFFSET if offset else UNDER_LOAD

    def rows(self, definition: str) -> tuple[TemperRow, ...]:
        """Rows of one definition, in the order of the table: annealed first, then harder."""
        return tuple(row for row in self.tempers if row.definition == definition)


@cache
def read_alloys() -> dict[str, Alloy]:
    """All alloys of the table by UNS number."""
    tempers: dict[str, list[TemperRow]] = defaultdict(list)
    for row in _rows("tempers.csv"):
        tempers[row["uns"]].append(_temper_row(row))
    return {row["uns"]: _alloy(row, tuple(tempers[row["uns"]])) for row in _rows("alloys.csv")}


def _temper_row(row: dict[str, str]) -> TemperRow:
    return TemperRow(
        temper=row["temper"],
        definition=row["definition"],
        yield_strength=float(row["yield_mpa"]),
        yield_low=float(row["yield_low_mpa"]),
        yield_high=float(row["yield_high_mpa"]),
        ultimate=float(row["ultimate_mpa"]),
        ultimate_low=float(row["ultimate_low_mpa"]),
        ultimate_high=float(row["ultimate_high_mpa"]),
        source=row["source"],
    )


def _alloy(row: dict[str, str], tempers: tuple[TemperRow, ...]) -> Alloy:
    return Alloy(
        uns=row["uns"],
        name=row["name"],
        en_equivalent=row["en_equivalent"],
        youngs_modulus=float(row["youngs_modulus_mpa"]),
        youngs_low=float(row["youngs_low_mpa"]),
        youngs_high=float(row["youngs_high_mpa"]),
        poisson_ratio=float(row["poisson_ratio"]),
        density=float(row["density_g_cm3"]),
        source=row["source"],
        tempers=tempers,
    )


def _rows(name: str) -> list[dict[str, str]]:
    text = resources.files("springfit.mechanics.metal").joinpath(name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))
