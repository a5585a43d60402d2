"""Why a verdict was reached: one reason for each way a question can be answered, with its numbers and no words.

Lengths per side [mm], + when the bell is larger; places are z on the present mandrel [mm]; chances are 0 to 1. What
is said of a reason, and in which unit, is the business of whoever reports it.
"""

from __future__ import annotations

from dataclasses import dataclass

from springfit.decisions.evidence import Fault

__all__ = [
    "BatchesScatter",
    "BellsDisagree",
    "BlanksAllowLess",
    "ErrorWithinTolerance",
    "NeverMeasured",
    "NoMandrelFound",
    "NotLearned",
    "NotSureEnough",
    "NothingToJudge",
    "NothingWouldSettle",
    "ProcessFault",
    "ReadAlike",
    "Reason",
    "SlideSuffices",
    "SteelLacking",
    "SteelMayBeLacking",
    "SureCut",
]


@dataclass(frozen=True)
class NothingToJudge:
    """Every row is masked."""


@dataclass(frozen=True)
class NoMandrelFound:
    """The inverse did not close; left_mm: the largest error that stays; folds_at_mm: z from which the wanted line folds
    back, None where it does not."""

    left_mm: float
    folds_at_mm: float | None = None


@dataclass(frozen=True)
class NeverMeasured:
    """No sound bell of this mandrel; batches: how many to measure first."""

    batches: int


@dataclass(frozen=True)
class BatchesScatter:
    """The means of `batches` batches scatter by at least least_mm (1 sd), more than the largest error."""

    least_mm: float
    error_mm: float
    batches: int


@dataclass(frozen=True)
class ErrorWithinTolerance:
    """The largest error and its place."""

    error_mm: float
    z_mm: float
    tolerance_mm: float


@dataclass(frozen=True)
class SlideSuffices:
    """A slide (+ toward the rim) brings the largest error from before_mm to after_mm."""

    slide_mm: float
    allowance_mm: float
    before_mm: float
    after_mm: float
    tolerance_mm: float


@dataclass(frozen=True)
class SteelLacking:
    """Surely too small somewhere; move_mm: of the whole flare toward the rim that would mend it, None without one."""

    error_mm: float
    z_mm: float
    chance: float
    move_mm: float | None
    allowance_mm: float


@dataclass(frozen=True)
class SteelMayBeLacking:
    """Too small somewhere, not surely; batches: how many more would settle it."""

    error_mm: float
    z_mm: float
    chance: float
    batches: int


@dataclass(frozen=True)
class SureCut:
    """The deepest cut and its place; the largest error, its place, and whether steel comes off there; move_mm: how far
    further toward the rim the whole line is turned, - when the bell is slid toward the rim instead; chances of a batch
    out of tolerance before and after."""

    cut_mm: float
    z_mm: float
    error_mm: float
    error_z_mm: float
    answered: bool
    chance_before: float
    chance_after: float
    move_mm: float


@dataclass(frozen=True)
class NotSureEnough:
    """Out of tolerance, but only sure_mm of cut is sure, less than least_mm; `batches` more would settle it."""

    error_mm: float
    z_mm: float
    sure_mm: float
    least_mm: float
    batches: int


@dataclass(frozen=True)
class BlanksAllowLess:
    """Out of tolerance, but what the blank `columns` of the conditions may have been asks for hardly a cut."""

    error_mm: float
    z_mm: float
    columns: tuple[str, ...]


@dataclass(frozen=True)
class ReadAlike:
    """Out of tolerance, only sure_mm of cut is sure, and however many batches are read like those at hand would make it
    no surer: what all readings share hides it. `batches` more would, set to a line on each bell."""

    error_mm: float
    z_mm: float
    sure_mm: float
    batches: int


@dataclass(frozen=True)
class NothingWouldSettle:
    """Out of tolerance, only sure_mm of cut is sure, and not even `batches` more would make it worth cutting."""

    error_mm: float
    z_mm: float
    sure_mm: float
    batches: int


@dataclass(frozen=True)
class BellsDisagree:
    """At a place of `slope_rad` the bells of `batches` batches show bells_mm (lasting mean, half a 90 % band of
    bells_half_mm) and the forecast says forecast_mm (forecast_half_mm); s of `stretches` as z from and to [mm]."""

    z_mm: float
    slope_rad: float
    bells_mm: float
    bells_half_mm: float
    forecast_mm: float
    forecast_half_mm: float
    batches: int
    stretches: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class NotLearned:
    """Steel would be ordered off by a model that has not learned these batches of the book: `own` of the mandrel."""

    own: tuple[str, ...]
    others: tuple[str, ...]


@dataclass(frozen=True)
class ProcessFault:
    """A habit of the process between two places; verdict_elsewhere, reason_elsewhere: what stands without it."""

    fault: Fault
    z_from_mm: float
    z_to_mm: float
    verdict_elsewhere: str
    reason_elsewhere: Reason


Reason = (
    NothingToJudge
    | NoMandrelFound
    | NeverMeasured
    | BatchesScatter
    | ErrorWithinTolerance
    | SlideSuffices
    | SteelLacking
    | SteelMayBeLacking
    | SureCut
    | NotSureEnough
    | BlanksAllowLess
    | BellsDisagree
    | NotLearned
    | NothingWouldSettle
    | ReadAlike
    | ProcessFault
)
