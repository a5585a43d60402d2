"""How a version was learned and why it is in use or not: one fact for each way both can go, and no sentence.

Errors are rms over the flare [mm], versions go by their names. What is said of them is reporting's business.
"""

from __future__ import annotations

from dataclasses import dataclass

from springfit.learning.memory import WhyRefit
from springfit.learning.validation.running_log import HeldAgainst

__all__ = [
    "WORSE", "Added", "FittedWhole", "HowLearned", "IsFirst", "KnewNoBell", "LeftOutRms", "NothingToHoldAgainst",
    "NothingToLearn", "Unreadable", "WhyInUse",
]  # fmt: skip

# A tenth, assumed: less is how left-out errors of two sound fits differ.
WORSE = 1.1  # times the left-out error of the version in use at which a version of the same batches is not put in use


@dataclass(frozen=True)
class Unreadable:
    """The version in use cannot be read; what: what was found wrong with its files."""

    what: str


@dataclass(frozen=True)
class FittedWhole:
    """The whole book was fitted; again: a version before had been learned from records."""

    why: WhyRefit | Unreadable
    again: bool


@dataclass(frozen=True)
class Added:
    """So many new `batches` were added to what the version `before` knows."""

    batches: int
    before: str


HowLearned = FittedWhole | Added


@dataclass(frozen=True)
class IsFirst:
    """There was no version in use."""


@dataclass(frozen=True)
class KnewNoBell:
    """The version `before` had learned from no bell."""

    before: str


@dataclass(frozen=True)
class NothingToLearn:
    """The book has no sound bell; the version `before`, which knows so many `batches`, stays in use."""

    before: str
    batches: int


@dataclass(frozen=True)
class NothingToHoldAgainst:
    """There is no new batch, and one of the versions was never validated."""


@dataclass(frozen=True)
class LeftOutRms:
    """No new batch: the error on left-out batches of the new version, beside that of the version `before`."""

    rms_mm: float
    before_mm: float
    before: str

    @property
    def worse(self) -> bool:
        """Whether the new version forecasts what it left out so much worse that it is not put in use."""
        return self.rms_mm > WORSE * self.before_mm


WhyInUse = IsFirst | KnewNoBell | NothingToLearn | NothingToHoldAgainst | LeftOutRms | HeldAgainst
