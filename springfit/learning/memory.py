"""What a version remembers of its own learning, so that new batches can be added to it, and when they cannot.

The posterior says all that was learned; this says of what. While the records it was learned from stand unchanged,
and few batches have come since, adding the new ones gives what a refit would. The reasons to refit are tried in order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = [
    "ManyAdded", "Memory", "NoNewBatch", "NothingLearned", "RecordsChanged", "WhyRefit", "why_refit",
]  # fmt: skip

# Of the batches of the last full fit: with more added since, spreads and faults deserve a fresh look; assumed
MOST_ADDED = 0.10


@dataclass(frozen=True)
class Memory:
    """`digests` by batch of the records learned from; `squares` by structure and spread: sum of squares and count over
    all bells and batches; `readings` behind it all; the last full fit, which the validation is of: its version `full`
    and the count of its batches `full_batches`."""

    digests: Mapping[str, str]
    squares: Mapping[str, Mapping[str, tuple[float, float]]]
    readings: int
    full: str
    full_batches: int

    def new_batches(self, digests: Mapping[str, str]) -> tuple[str, ...]:
        """Batches with readings that were not learned yet."""
        return tuple(batch for batch in digests if batch not in self.digests)


@dataclass(frozen=True)
class NothingLearned:
    """There is no version before, or it remembers nothing of its records."""


@dataclass(frozen=True)
class RecordsChanged:
    """These `batches`, one at least, are no longer as they were learned from."""

    batches: tuple[str, ...]


@dataclass(frozen=True)
class NoNewBatch:
    """All that was measured is learned."""


@dataclass(frozen=True)
class ManyAdded:
    """So many batches came since the last full fit, which was of full_batches."""

    added: int
    full_batches: int


WhyRefit = NothingLearned | RecordsChanged | NoNewBatch | ManyAdded


def why_refit(memory: Memory | None, digests: Mapping[str, str]) -> WhyRefit | None:
    """Why a book whose batches have `digests` must be fitted whole; None when its new batches can be added to what
    `memory` remembers."""
    if memory is None:
        return NothingLearned()
    changed = tuple(batch for batch, digest in memory.digests.items() if digests.get(batch) != digest)
    if changed:
        return RecordsChanged(changed)
    new = memory.new_batches(digests)
    if not new:
        return NoNewBatch()
    added = len(memory.digests) + len(new) - memory.full_batches
    if added > MOST_ADDED * memory.full_batches:
        return ManyAdded(added, memory.full_batches)
    return None
