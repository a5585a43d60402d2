"""What physics says of a bell that is asked about, before anything learned: its columns, and how far they can move it.

Where the record does not say where drawing stopped, the usual place is tried and places either side of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.batch_basis import batch_basis
from springfit.learning.basis.hand import Hand
from springfit.learning.basis.laid_state import laid_states
from springfit.learning.basis.spun_sheet import draw_end_arc
from springfit.learning.basis.stress_basis import StressBasis
from springfit.learning.experience import envelope_of
from springfit.records.conditions import Conditions

__all__ = ["AskedSteel", "asked_steel"]

# Of the usual one, where the record does not say where drawing stopped; a tenth of the bell either way of two thirds;
# assumed
DRAW_ENDS_TRIED = (0.85, 1.0, 1.15)


@dataclass(frozen=True)
class AskedSteel:
    """A bell of `mandrel` under `conditions`: for each place where drawing may have stopped its columns, `bases`, and
    the elastic `envelopes`, (n,) [mm] each."""

    mandrel: Meridian
    conditions: Conditions
    bases: tuple[StressBasis, ...]
    envelopes: tuple[NDArray[np.float64], ...]


def asked_steel(
    mandrel: Meridian, conditions: Conditions, hand: Hand, *, stage: str = "trimmed", laid_on: Meridian | None = None
) -> AskedSteel:
    """The bell that `mandrel` gives under `conditions` at `stage` (spun, trimmed), laid by `hand`. `laid_on`: the steel
    that laying is worked out for, `mandrel` unless a line that is cut from it by tenths of a millimetre is asked.

    Raises UnknownAlloyError for an alloy that is not in the table.
    """
    steel = laid_on or mandrel
    tried = _tried(steel, conditions)
    laid = laid_states([(steel, one) for one in tried], hand)
    bases = tuple(batch_basis(mandrel, one, state, stage=stage) for one, state in zip(tried, laid, strict=True))
    envelopes = tuple(envelope_of(mandrel, one, basis) for one, basis in zip(tried, bases, strict=True))
    return AskedSteel(mandrel, conditions, bases, envelopes)


def _tried(steel: Meridian, conditions: Conditions) -> list[Conditions]:
    if conditions.draw_end_mm is not None:
        return [conditions]
    usual = draw_end_arc(steel, conditions)
    arcs = [min(part * usual, steel.length) for part in DRAW_ENDS_TRIED]
    return [replace(conditions, draw_end_mm=float(np.interp(arc, steel.s, steel.z))) for arc in arcs]
