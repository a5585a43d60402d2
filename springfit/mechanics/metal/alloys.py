"""Copper alloys by name, and their yield by temper with its definition and range."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from springfit.alloy_names import own_metal, uns_of
from springfit.mechanics.metal.alloy_table import Alloy, TemperRow, read_alloys
from springfit.mechanics.metal.tempers import grain_factor, grain_size, normal_temper, rolling_strain

__all__ = ["Alloy", "UnknownAlloyError", "YieldStrength", "alloy", "unknown_alloys", "yield_strength"]


class UnknownAlloyError(KeyError):
    """The table has no such alloy: `found` was asked for, `expected` names those it has."""

    def __init__(self, found: str, expected: str) -> None:
        super().__init__(found, expected)
        self.found, self.expected = found, expected

    def __str__(self) -> str:
        other = "another metal as 'E 103 GPa, yield 140 MPa' (annealed)"
        return f"alloy: found {self.found!r}, expected {self.expected}; {other}"


class YieldStrength(NamedTuple):
    """Yield [MPa], its low and high over sources, the definition it was measured by, its source."""

    value: float
    low: float
    high: float
    definition: str
    source: str


def alloy(uns: str) -> Alloy:
    """The alloy of a UNS number (C26000), of its exact EN equivalent (CW505L), of a common name (70/30 brass) or of the
    constants of a metal of one's own (E 103 GPa, yield 140 MPa).

    Raises UnknownAlloyError (a KeyError) listing the known ones.
    """
    table, code = read_alloys(), uns_of(uns)
    if own := own_metal(uns):
        return _own_alloy(str(code), *own, like=table["C26000"])
    if code in table:
        return table[code]
    known = ", ".join(f"{entry.uns} ({entry.name})" for entry in table.values())
    raise UnknownAlloyError(uns, f"one of {known}")


def _own_alloy(name: str, modulus: float, strength: float, *, like: Alloy) -> Alloy:
    """A metal of which modulus and annealed yield [MPa] are known; it hardens as `like`, Poisson's ratio as its."""
    soft = next(row for row in like.rows(like.definition) if row.temper == "annealed")
    by, stiffer = strength / soft.yield_strength, modulus / like.youngs_modulus
    source = f"as given; it hardens as {like.uns} does"
    tempers = tuple(
        replace(
            row, yield_strength=by * row.yield_strength, yield_low=by * row.yield_low, yield_high=by * row.yield_high,
            ultimate=by * row.ultimate, ultimate_low=by * row.ultimate_low, ultimate_high=by * row.ultimate_high,
            source=source,
        )
        for row in like.rows(like.definition)
    )  # fmt: skip
    return replace(
        like, uns=name, name=name, en_equivalent="", youngs_modulus=modulus, source=source, tempers=tempers,
        youngs_low=stiffer * like.youngs_low, youngs_high=stiffer * like.youngs_high,
    )  # fmt: skip


def unknown_alloys(names: Iterable[str]) -> list[tuple[int, UnknownAlloyError]]:
    """Place in `names` and what is wrong of each that the table does not have."""
    unknown = []
    for place, name in enumerate(names):
        try:
            alloy(name)
        except UnknownAlloyError as error:
            unknown.append((place, error))
    return unknown


def yield_strength(metal: Alloy, temper: str | None, *, definition: str | None = None) -> YieldStrength:
    """Yield of a temper; None (unknown) gives the geometric middle and the whole range of the table.

    The middle is that of the softest and hardest rows. `definition` is `metal.definition` unless asked
    otherwise; a value is never made from rows of both. A grain size (OSxxx) moves the annealed row by
    Hall-Petch; a rolled temper between two rows is interpolated in rolling strain, one beyond the last row
    takes the last row's value. Raises ValueError for a code that is not a temper, or a definition the table
    has no rows of.
    """
    kind = definition or metal.definition
    rows = metal.rows(kind)
    if not rows:
        held = sorted({row.definition for row in metal.tempers})
        raise ValueError(f"definition: found {kind!r}, expected one of {held} for {metal.uns}")
    if temper is None:
        low, high = min(row.yield_low for row in rows), max(row.yield_high for row in rows)
        soft, hard = min(row.yield_strength for row in rows), max(row.yield_strength for row in rows)
        return YieldStrength(
            math.sqrt(soft * hard), low, high, kind, "temper unknown: annealed to hardest row"
        )
    code = normal_temper(temper)
    for row in rows:
        if row.temper == code:
            return YieldStrength(row.yield_strength, row.yield_low, row.yield_high, kind, row.source)
    grain = grain_size(code)
    if grain is not None:
        return _annealed_to_grain(rows, grain, metal.uns, kind)
    return _between_rows(rows, code, kind)


def _annealed_to_grain(rows: tuple[TemperRow, ...], grain: float, uns: str, kind: str) -> YieldStrength:
    annealed = [row for row in rows if row.temper == "annealed"]
    if not annealed:
        raise ValueError(f"definition: {uns} has no annealed row by {kind!r}, so no yield for a grain size")
    value, low, high = (grain_factor(grain) * v for v in _triple(annealed[0]))
    return YieldStrength(value, low, high, kind, f"annealed, to grain {grain} mm: {annealed[0].source}")


def _between_rows(rows: tuple[TemperRow, ...], code: str, kind: str) -> YieldStrength:
    usable = [row for row in rows if grain_size(row.temper) is None]
    if not usable:
        raise ValueError(f"temper: no row to read {code!r} from by {kind!r}")
    strains = [rolling_strain(row.temper) for row in usable]
    columns = np.array([_triple(row) for row in usable]).T
    value, low, high = (float(np.interp(rolling_strain(code), strains, column)) for column in columns)
    return YieldStrength(value, low, high, kind, "between rows of the table by rolling strain")


def _triple(row: TemperRow) -> tuple[float, float, float]:
    return row.yield_strength, row.yield_low, row.yield_high
