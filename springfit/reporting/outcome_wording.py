"""How a version was learned, and why it is in use or not: a clause for each way, errors in the shop's unit."""

from __future__ import annotations

from typing import assert_never

from springfit.learning import memory
from springfit.learning.validation.running_log import HeldAgainst
from springfit.learning.versions import outcomes
from springfit.reporting.wording.length_wording import Units, amount

__all__ = ["how_words", "in_use_words"]


def how_words(how: outcomes.HowLearned) -> str:
    """How a version was learned; one case a way."""
    match how:
        case outcomes.Added(batches, before):
            return f"updated with {batches} batch{'es' if batches > 1 else ''}, added to what {before} knows"
        case outcomes.FittedWhole(why, again):
            return f"{'refitted' if again else 'fitted whole'}: {_refit_words(why)}"
    assert_never(how)


def in_use_words(reason: outcomes.WhyInUse, units: Units) -> str:
    """Why a version is in use, or is not; one case a reason."""
    match reason:
        case outcomes.IsFirst():
            return "it is the first version"
        case outcomes.KnewNoBell(before):
            return f"{before} had learned from no bell"
        case outcomes.NothingToLearn(before, batches):
            return f"nothing can be learned from this book, {before} knows {batches} batches"
        case outcomes.NothingToHoldAgainst():
            return "there is no earlier validation to hold it against"
        case outcomes.LeftOutRms(rms_mm, before_mm, before):
            told, had = (amount(rms, units) for rms in (rms_mm, before_mm))
            return f"left-out batches are forecast to {told} rms, {had} with {before}"
        case HeldAgainst():
            return _held_words(reason, units)
    assert_never(reason)


def _refit_words(why: memory.WhyRefit | outcomes.Unreadable) -> str:
    match why:
        case memory.NothingLearned():
            return "nothing was learned before"
        case memory.RecordsChanged((batch,)):
            return f"batch {batch} is no longer as learned from"
        case memory.RecordsChanged(batches):
            return f"{len(batches)} batches, such as {batches[0]}, are no longer as learned from"
        case memory.NoNewBatch():
            return "there is no new batch"
        case memory.ManyAdded(added, full_batches):
            return f"{added} batches came since the last full fit, of {full_batches}"
        case outcomes.Unreadable(what):
            return f"the version in use cannot be read ({what})"
    assert_never(why)


def _held_words(held: HeldAgainst, units: Units) -> str:
    many = held.batches > 1
    of = f"{held.batches} new batches, each left out, are" if many else "the new batch, left out, is"
    told, had = (amount(rms, units) for rms in (held.rms_mm, held.before_mm))
    verdict = "worse beyond noise" if held.worse else "no worse"
    return (
        f"{of} forecast to {told} rms, by {held.before} beforehand to {had}; log density {held.better:+.2f} a batch, "
        f"noise {held.noise:.2f}: {verdict}"
    )
