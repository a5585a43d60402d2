"""What was known before a batch was learned: the shop as its earlier batches left it, and what it says of the next.

A stored version that had not learned the batch said it beforehand; where there is none, the batches spun before it are
solved again by the structure and spreads of the version in use. Many batches are taken in steps: the shop of the last
step is at most a tenth short of what could have been known, and a thousand batches cost fifty solves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.learning.experience import Experience
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.model import SpringModel
from springfit.learning.regression.hierarchy import solve
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.posterior import Start
from springfit.learning.regression.prior_sd import Prior
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import Columns

__all__ = ["KnownBefore", "known_before_each", "known_by"]

Floats = NDArray[np.float64]

EVERY_ONE = 8  # batches up to which each is solved anew: the first ones teach most
STEP = 1.1  # growth of the batches after which they are solved again; a tenth; assumed


@dataclass(frozen=True)
class KnownBefore:
    """A shop before a batch: `said_by` a stored version (empty: solved again from the batches before), how many
    `batches` that had, its unknowns' `layout`, and the `structure` that speaks."""

    said_by: str
    batches: int
    layout: Layout
    structure: FittedStructure

    def of_batch(self, facts: BatchFacts, columns: Columns) -> tuple[Floats, Floats, Floats]:
        """Expected coefficients (columns.shared,) of a batch, how its own unknowns move them (shared, own), and what is
        not known of them (shared, m), one sd a column. Gauges met since have a bias nobody knows, and every gauge the
        error of being set to zero for this sitting."""
        k, own, unknowns = self.structure.of_batch(self.layout, facts)
        unknown = unknowns.moves
        spread = np.array(columns.gauge_spread)
        new = spread[len(self.layout.columns.gauges) :]
        shared = len(k) + new.size
        grown = np.zeros((shared, unknown.shape[1] + new.size + spread.size))
        grown[: len(k), : unknown.shape[1]] = unknown
        grown[len(k) :, unknown.shape[1] : unknown.shape[1] + new.size] = np.diag(new)
        # Set to zero once for a sitting, all of a batch are off by it: without it the mean of a hundred readings would
        # be told to a fraction of what any of them can be.
        grown[shared - spread.size :, unknown.shape[1] + new.size :] = np.diag(spread)
        return np.append(k, np.zeros(new.size)), np.vstack((own, np.zeros((new.size, own.shape[1])))), grown


def known_by(model: SpringModel) -> KnownBefore:
    """What a stored version says of batches that it has not learned."""
    return KnownBefore(model.version, len(model.batches), model.layout, model.lead)


def known_before_each(sound: Experience, model: SpringModel, order: Sequence[str]) -> Mapping[str, KnownBefore]:
    """What the batches of `order` (oldest first) before each one taught. `sound`: bells without faults."""
    lead, summaries = model.lead, sound.summaries(model.noise_scale)
    structure, spreads = STRUCTURES[lead.name], lead.spreads
    found: dict[str, KnownBefore] = {}
    last: KnownBefore | None = None
    for count, batch in enumerate(order):
        if last is None or count <= EVERY_ONE or count >= STEP * last.batches:
            earlier = set(order[:count])
            part = replace(sound, bells=tuple(bell for bell in sound.bells if bell.batch_id in earlier))
            layout = part.layout()
            prior = Prior.of(layout, structure)
            if part.bells:
                begin = Start(last.layout.carried(last.structure.mean, layout), {}) if last and last.batches else None
                after = solve(summaries, layout, prior, spreads, begin)
                mean, covariance = after.mean, after.covariance
            else:
                mean, covariance = prior.mean, np.linalg.inv(prior.precision(spreads)).astype(np.float64)
            known = FittedStructure(lead.name, spreads, mean, covariance)
            last = KnownBefore("", len(layout.facts), layout, known)
        found[batch] = last
    return found
