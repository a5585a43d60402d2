"""What is said of a training, and of what it set aside: one clause a fact, its lengths in the unit of the shop.

The metric clauses are those that were said before facts and words were told apart; those of an inch shop differ in
their lengths alone, which were worked out by hand (1 thou is 0.0254 mm).
"""

from __future__ import annotations

import pytest

from springfit.learning.memory import ManyAdded, NoNewBatch, NothingLearned, RecordsChanged
from springfit.learning.set_aside import (
    AnotherSteel,
    BeyondReach,
    Doubted,
    OneReadingOff,
    UnlikeItsBatch,
    WhySetAside,
)
from springfit.learning.validation.running_log import HeldAgainst
from springfit.learning.versions.outcomes import (
    Added,
    FittedWhole,
    HowLearned,
    IsFirst,
    KnewNoBell,
    LeftOutRms,
    NothingToHoldAgainst,
    NothingToLearn,
    Unreadable,
    WhyInUse,
)
from springfit.reporting.outcome_wording import how_words, in_use_words
from springfit.reporting.set_aside_wording import set_aside_words

STRANGER = "not a bell of this steel as written"
FAULT = "beyond elastic reach: a process fault, no springback"


@pytest.mark.parametrize(
    ("how", "said"),
    [
        (Added(1, "v0001"), "updated with 1 batch, added to what v0001 knows"),
        (Added(3, "v0001"), "updated with 3 batches, added to what v0001 knows"),
        (FittedWhole(NothingLearned(), again=False), "fitted whole: nothing was learned before"),
        (FittedWhole(RecordsChanged(("B7",)), again=True), "refitted: batch B7 is no longer as learned from"),
        (
            FittedWhole(RecordsChanged(("B7", "B8")), again=True),
            "refitted: 2 batches, such as B7, are no longer as learned from",
        ),
        (FittedWhole(NoNewBatch(), again=True), "refitted: there is no new batch"),
        (
            FittedWhole(ManyAdded(3, 20), again=True),
            "refitted: 3 batches came since the last full fit, of 20",
        ),
        (
            FittedWhole(Unreadable("it lacks steel"), again=False),
            "fitted whole: the version in use cannot be read (it lacks steel)",
        ),
    ],
)
def test_how_a_version_was_learned(how: HowLearned, said: str) -> None:
    assert how_words(how) == said


HELD = HeldAgainst(2, 0.0254, 0.0508, "v0001", 0.125, 0.5)


@pytest.mark.parametrize(
    ("reason", "metric", "inch"),
    [
        (IsFirst(), "it is the first version", None),
        (KnewNoBell("v0001"), "v0001 had learned from no bell", None),
        (
            NothingToLearn("v0001", 4),
            "nothing can be learned from this book, v0001 knows 4 batches",
            None,
        ),
        (NothingToHoldAgainst(), "there is no earlier validation to hold it against", None),
        (
            LeftOutRms(0.0254, 0.0508, "v0001"),
            "left-out batches are forecast to 0.025 mm rms, 0.051 mm with v0001",
            "left-out batches are forecast to 1.0 thou rms, 2.0 thou with v0001",
        ),
        (
            HELD,
            "2 new batches, each left out, are forecast to 0.025 mm rms, by v0001 beforehand to 0.051 mm; log density "
            "+0.12 a batch, noise 0.50: no worse",
            "2 new batches, each left out, are forecast to 1.0 thou rms, by v0001 beforehand to 2.0 thou; log density "
            "+0.12 a batch, noise 0.50: no worse",
        ),
        (
            HeldAgainst(1, 0.2, 0.1, "v0001", -2.0, 1.0),
            "the new batch, left out, is forecast to 0.200 mm rms, by v0001 beforehand to 0.100 mm; log density -2.00 "
            "a batch, noise 1.00: worse beyond noise",
            "the new batch, left out, is forecast to 7.9 thou rms, by v0001 beforehand to 3.9 thou; log density -2.00 "
            "a batch, noise 1.00: worse beyond noise",
        ),
    ],
)
def test_why_a_version_is_in_use(reason: WhyInUse, metric: str, inch: str | None) -> None:
    assert in_use_words(reason, "mm") == metric
    assert in_use_words(reason, "in") == (inch or metric)


@pytest.mark.parametrize(
    ("why", "metric", "inch"),
    [
        (Doubted("bell 'B1': 3.5 in is odd"), "bell 'B1': 3.5 in is odd", None),
        (AnotherSteel(), f"most of it stands beyond elastic reach at any seat: {STRANGER}", None),
        (
            UnlikeItsBatch(0.4318),
            f"nothing explains it: 0.43 mm rms off its batch; {STRANGER}",
            f"nothing explains it: 17 thou rms off its batch; {STRANGER}",
        ),
        (
            BeyondReach(0.4064, 129.54),
            f"+0.41 mm per side about arc 130 mm, {FAULT}",
            f"+16 thou per side about arc 5.10 in, {FAULT}",
        ),
        (
            BeyondReach(-0.4064, 129.54),
            f"-0.41 mm per side about arc 130 mm, {FAULT}",
            f"-16 thou per side about arc 5.10 in, {FAULT}",
        ),
        (
            OneReadingOff(0.4064, 129.54),
            "one reading is +0.41 mm per side off the rest of its bell, at arc 130 mm",
            "one reading is +16 thou per side off the rest of its bell, at arc 5.10 in",
        ),
    ],
)
def test_why_a_bell_was_set_aside(why: WhySetAside, metric: str, inch: str | None) -> None:
    assert set_aside_words(why, "mm") == metric
    assert set_aside_words(why, "in") == (inch or metric)
