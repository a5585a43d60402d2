"""Where each of the shop's unknowns stands in the vector, and how they make a batch's coefficients.

The shop's unknowns: one coefficient a column (free field or laid state), effects of the batch features on the log
multiplier of all of them, one deviation a label (alloy, lot, spinner ...), what features change of a bell's shape, a
smooth remainder a mandrel, the offset of the rim face, where hands leave a bell, and a bias a gauge. How a batch's own
unknowns act beside them is in `link`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS, LAID_FROM
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.link import OWN, TOLD, Link
from springfit.learning.regression.summaries import REMAINDERS, THINNINGS, Columns

__all__ = ["BatchFacts", "Layout"]

Floats = NDArray[np.float64]

_SHAPING = [[feature.name for feature in BATCH_FEATURES].index(name) for name in LAID_FROM]


@dataclass(frozen=True)
class BatchFacts:
    """What a batch brings: its mandrel, feature values (features,) with nan for blank, and its labels (None: blank)."""

    mandrel_id: str
    features: Floats
    labels: tuple[str | None, ...]


@dataclass(frozen=True)
class Layout:
    """The order of the unknowns for a set of batches; `facts` by batch id, `levels` the labels of each kind met."""

    columns: Columns
    facts: Mapping[str, BatchFacts]
    mandrels: tuple[str, ...]
    levels: tuple[tuple[str, ...], ...]

    @property
    def batch_ids(self) -> tuple[str, ...]:
        """Batches in order."""
        return tuple(self.facts)

    @cached_property
    def slices(self) -> dict[str, slice]:
        """Place of each group of unknowns, by name."""
        sizes = {"fields": len(FIELDS), "effects": len(BATCH_FEATURES)}
        sizes.update({kind: len(levels) for kind, levels in zip(LABELS, self.levels, strict=True)})
        sizes["by_feature"] = (TOLD - 1) * len(LAID_FROM)
        sizes["mandrels"] = REMAINDERS * len(self.mandrels)
        sizes["thinning"] = THINNINGS
        sizes["rim"], sizes["home"], sizes["gauges"] = 1, 1, len(self.columns.gauges)
        edges = np.concatenate(([0], np.cumsum(list(sizes.values()))))
        return {name: slice(int(a), int(b)) for name, a, b in zip(sizes, edges, edges[1:], strict=False)}

    @property
    def size(self) -> int:
        """Count of unknowns."""
        return self.slices["gauges"].stop

    @property
    def log_multipliers(self) -> slice:
        """The unknowns that act through the exponential: effects and labels."""
        return slice(self.slices["effects"].start, self.slices["by_feature"].start)

    @cached_property
    def names(self) -> tuple[tuple[str, str, int], ...]:
        """A name for each unknown: its group, the label, mandrel or gauge it belongs to, and its number there."""
        owners = {kind: levels for kind, levels in zip(LABELS, self.levels, strict=True)}
        owners.update(mandrels=self.mandrels, gauges=self.columns.gauges)
        named: list[tuple[str, str, int]] = []
        for group, part in self.slices.items():
            belong = owners.get(group, ("",))
            each = (part.stop - part.start) // len(belong) if belong else 0
            named.extend((group, owner, number) for owner in belong for number in range(each))
        return tuple(named)

    def carried(self, theta: Floats, other: Layout) -> Floats:
        """The unknowns `theta` of this layout put in the places of `other`; zero for what this layout does not know."""
        mine = dict(zip(self.names, theta.tolist(), strict=True))
        return np.array([mine.get(name, 0.0) for name in other.names])

    def places_in(self, other: Layout) -> NDArray[np.intp]:
        """Where each unknown of this layout stands in `other`, (unknowns,); KeyError for one that is not there."""
        theirs = {name: place for place, name in enumerate(other.names)}
        return np.array([theirs[name] for name in self.names], dtype=np.intp)

    def told_rows(self, facts: BatchFacts) -> Floats:
        """Rows (TOLD, unknowns) that turn the unknowns into what features and labels tell of a batch: its log
        multiplier, and its departures in shape. A blank tells nothing."""
        rows, features = np.zeros((TOLD, self.size)), np.nan_to_num(facts.features)
        rows[0, self.slices["effects"]] = features
        for kind, levels, label in zip(LABELS, self.levels, facts.labels, strict=True):
            if label in levels:
                rows[0, self.slices[kind].start + levels.index(label)] = 1.0
        rows[1:, self.slices["by_feature"]] = np.kron(np.eye(TOLD - 1), features[_SHAPING])
        return rows

    def places_of(self, facts: BatchFacts) -> NDArray[np.intp]:
        """Where a batch's shared coefficients stand among the unknowns, (shared,); -1 for a mandrel not met."""
        fields = np.arange(len(FIELDS), dtype=np.intp)
        tail = np.arange(self.slices["thinning"].start, self.size)
        return np.concatenate((fields, self._remainder_places(facts.mandrel_id), tail))

    def linearised_at(
        self, facts: BatchFacts, theta: Floats, u: Floats, link: Link
    ) -> tuple[Floats, Floats, Floats]:
        """Coefficients (shared,) of a batch of these facts, recorded or asked for, at (theta, u), and their derivatives
        by theta (shared, unknowns) and by u (shared, OWN)."""
        count, shared = len(FIELDS), self.columns.shared
        rows = self.told_rows(facts)
        linked = link.at(theta[self.slices["fields"]], rows @ theta, u)
        k, jacobian, own = np.zeros(shared), np.zeros((shared, self.size)), np.zeros((shared, OWN))
        k[:count], own[:count] = linked.k, linked.own
        jacobian[:count, self.slices["fields"]] = np.diag(linked.scale)
        jacobian[:count] += linked.by_told @ rows
        places, unknowns = np.arange(count, shared), self.places_of(facts)[count:]
        known = unknowns >= 0
        jacobian[places[known], unknowns[known]] = 1.0
        k[places[known]] = theta[unknowns[known]]
        return k, jacobian, own

    def _remainder_places(self, mandrel_id: str) -> NDArray[np.intp]:
        if mandrel_id not in self.mandrels:
            return np.full(REMAINDERS, -1, dtype=np.intp)
        start = self.slices["mandrels"].start + REMAINDERS * self.mandrels.index(mandrel_id)
        return np.arange(start, start + REMAINDERS)
