"""New batches added to a model against a refit with them; promotion by the running log; what makes it refit."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.learning.experience import experience_of
from springfit.learning.faults.back_pass import BackPassHump, FaultyStretch, learn_hump
from springfit.learning.fitting import fit_model
from springfit.learning.memory import ManyAdded, Memory, NoNewBatch, RecordsChanged, why_refit
from springfit.learning.validation.running_log import HeldAgainst, Told, judged
from springfit.learning.versions.outcomes import Added
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import Training, train
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.records.part import batch_digests
from springfit.records.reading import read_book

MORE = pytest.mark.benchmark  # every batch of the sample shop is laid: minutes
STEADY = "steady"
BAND_90 = 1.645
LARGEST_PART = (
    0.05  # of the 90 % band of a batch's mean, by which forecasts of update and refit may differ (rms)
)
SAME_WIDTH = 0.05  # by which their bands may differ


def first(batches: int, source: Path, folder: Path) -> Path:
    """A copy of the book with what was spun first."""
    shutil.copytree(source, folder, ignore=shutil.ignore_patterns("truth"), copy_function=shutil.copyfile)
    kept = pd.read_csv(source / "batches.csv", dtype=str).sort_values("spun_on", kind="stable").head(batches)
    kept.to_csv(folder / "batches.csv", index=False)
    bells = pd.read_csv(source / "bells.csv", dtype=str)
    bells = bells[bells["batch_id"].isin(kept["batch_id"])]
    bells.to_csv(folder / "bells.csv", index=False)
    readings = pd.read_csv(source / "measurements.csv", dtype=str)
    readings[readings["bell_id"].isin(bells["bell_id"])].to_csv(folder / "measurements.csv", index=False)
    return folder


Trained = tuple[Training, Training, ModelStore, Path]
"""Both trainings, the store, and the book of the second."""


def source_of(shop: str, request: pytest.FixtureRequest, folder: Path) -> Path:
    """The folder of a sample shop; "steady": a small one spun by habit, one laying for all."""
    if shop != STEADY:
        return request.getfixturevalue("shared") / shop
    made = make_shop(11, batches=11, mandrels=1, bells=2, steady=True, blanks=0.0)
    write_book(made.tables, folder)
    return folder


def digests_of(folder: Path) -> dict[str, str]:
    """What a training would note of the batches of a book."""
    book, findings = read_book(folder)
    return batch_digests(
        without_doubted_rows(book, findings), [one.subject for one in findings if one.sets_aside]
    )


@pytest.fixture(
    scope="module",
    # From thirteen batches of the sample shop on, one more changes nothing of what is doubted of those before, so that
    # nothing that was learned is learned anew.
    params=[(STEADY, 10, 11), *(pytest.param(("sample-shop", *n), marks=MORE) for n in ((13, 14), (22, 24)))],
)
def shop(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Trained:
    """A shop's first batches trained on, then one or two more, once for all tests."""
    which, before, after = request.param
    folder = tmp_path_factory.mktemp("shop")
    store, source = ModelStore(folder / "store"), source_of(which, request, folder / "source")
    one = train(*read_book(first(before, source, folder / "before")), store)
    book = first(after, source, folder / "after")
    return one, train(*read_book(book), store), store, book


def test_an_update_forecasts_as_a_refit(shop: Trained) -> None:
    one, two, store, book = shop
    assert two.how == Added(two.logged, "v0001") and two.full == one.version == "v0001"
    assert two.batches == one.batches + two.logged
    assert two.validation is None and two.model.validation == one.model.validation
    updated = store.load(two.version)
    # An update keeps the shop's hand, and the weights and widening of the last validation: with the same ones both are
    # held beside each other for what they learned.
    experience = experience_of(*read_book(book), hand=updated.hand)
    fit = fit_model(experience)
    assert fit is not None
    by_name = {one.name: one for one in fit.model().structures}
    assert set(by_name) == {one.name for one in updated.structures}
    refit = replace(
        fit.model(known=updated.known, new=updated.new),
        structures=tuple(by_name[one.name] for one in updated.structures),
    )
    assert set(refit.layout.names) == set(updated.layout.names)
    assert {fault.bell_id for fault in refit.faults} == {fault.bell_id for fault in updated.faults}
    assert (updated.known, updated.new) == (one.model.known, one.model.new)
    parts, before, widths = [], [], []
    for batch in experience.facts:
        asked = experience.meridian(batch), experience.conditions[batch]
        new, old, whole = (m.gap(*asked) for m in (updated, one.model, refit))
        flare = whole.arc > 0.6 * whole.arc[-1]
        band = 2 * BAND_90 * np.mean(whole.mean_sd[flare])
        parts.append(np.sqrt(np.mean((new.gap - whole.gap)[flare] ** 2)) / band)
        before.append(np.sqrt(np.mean((old.gap - whole.gap)[flare] ** 2)) / band)
        widths.append(np.mean(new.mean_sd[flare] / whole.mean_sd[flare]))
    print(f"update against refit: {max(parts):.3f} of the band at most, {np.mean(parts):.4f} mean", end="; ")
    print(f"without the batches {max(before):.3f}; widths {min(widths):.3f} to {max(widths):.3f}")
    assert max(parts) < LARGEST_PART and np.mean(parts) < np.mean(before) / 2
    assert abs(np.mean(widths) - 1) < SAME_WIDTH


def test_new_batches_are_logged_and_the_update_is_taken_into_use(shop: Trained) -> None:
    one, two, store, _ = shop
    assert two.logged >= 1 and [told.version for told in two.log] == ["v0001"] * two.logged
    assert two.in_use and store.in_use() == "v0002"
    assert isinstance(two.reason, HeldAgainst) and two.reason.batches == two.logged and not two.reason.worse
    assert {told.batch_id for told in two.log} == set(two.model.memory.digests) - set(
        one.model.memory.digests
    )


@pytest.mark.parametrize(
    "file, where, change, reason",
    [
        (
            "measurements.csv",
            "value_mm",
            lambda text: f"{float(text) + 0.001:.4f}",
            RecordsChanged,
        ),
        (
            "gauges.csv",
            "repeatability_mm",
            lambda text: f"{float(text) * 2:.4f}",
            RecordsChanged,
        ),
        ("batches.csv", "alloy", lambda text: "C22000", RecordsChanged),
        ("targets.csv", "tolerance_mm", lambda text: "0.07", NoNewBatch),
        ("mandrels.csv", "note", lambda text: "seen", RecordsChanged),
    ],
)
def test_a_change_in_what_was_learned_asks_for_a_refit(
    file: str,
    where: str,
    change: Callable[[str], str],
    reason: type[RecordsChanged | NoNewBatch],
    shop: Trained,
    tmp_path: Path,
) -> None:
    _, two, _, book = shop
    shutil.copytree(book, tmp_path / "book")
    frame = pd.read_csv(book / file, dtype=str)
    frame.loc[0, where] = change(frame.loc[0, where])
    frame.to_csv(tmp_path / "book" / file, index=False)
    assert isinstance(why_refit(two.model.memory, digests_of(tmp_path / "book")), reason)


def test_a_new_revision_of_the_steel_is_no_reason_to_refit(shop: Trained, tmp_path: Path) -> None:
    one, _, _, book = shop
    shutil.copytree(book, tmp_path / "book")
    mandrels = pd.read_csv(book / "mandrels.csv", dtype=str)
    later = mandrels.head(1).assign(revision="9", in_force_from="2030-01-01")
    pd.concat([mandrels, later]).to_csv(tmp_path / "book" / "mandrels.csv", index=False)
    profile = pd.read_csv(book / "mandrel_profile.csv", dtype=str)
    steel = profile[(profile["mandrel_id"] == later["mandrel_id"].iloc[0]) & (profile["revision"] == "0")]
    pd.concat([profile, steel.assign(revision="9")]).to_csv(
        tmp_path / "book" / "mandrel_profile.csv", index=False
    )
    assert why_refit(one.model.memory, digests_of(tmp_path / "book")) is None


def test_more_than_a_tenth_of_new_batches_asks_for_a_refit() -> None:
    memory = Memory({f"B{i}": "same" for i in range(20)}, {}, 100, "v0001", 20)
    more = {f"B{i}": "same" for i in range(22)}
    assert why_refit(memory, more) is None
    assert why_refit(memory, {**more, "C": "new"}) == ManyAdded(3, 20)
    assert why_refit(memory, {**more, "B0": "other"}) == RecordsChanged(("B0",))
    few = Memory({f"B{i}": "same" for i in range(9)}, {}, 100, "v0001", 9)
    assert why_refit(few, {**few.digests, "C": "new"}) is not None


def _told(version: str, score: float, batch: int = 0) -> Told:
    return Told(f"B{batch}", version, 0.02, 0.05, 0.9, score)


@pytest.mark.parametrize(
    "lost, batches, taken", [(0.3, 1, True), (2.0, 1, False), (0.3, 12, False), (-1.0, 4, True)]
)
def test_a_version_is_refused_only_when_worse_beyond_noise(lost: float, batches: int, taken: bool) -> None:
    before = [_told("v0001", 3.0, i) for i in range(batches)]
    after = [_told("v0002", 3.0 - lost, i) for i in range(batches)]
    held = judged(before, after)
    assert held.worse is not taken and held.better == pytest.approx(-lost) and held.before == "v0001"


def test_swellings_learned_in_two_steps_are_those_of_one() -> None:
    past = np.linspace(-20.0, 50.0, 40)
    stretches = [
        FaultyStretch(f"B{i}", past, (0.3 + 0.05 * i) * np.exp(-0.5 * ((past - 10.0 - i) / 11.0) ** 2))
        for i in range(5)
    ]
    whole, steps = learn_hump(stretches), learn_hump(stretches[3:], learn_hump(stretches[:3]))
    assert whole.bells == steps.bells == 5 and whole != BackPassHump()
    for name in ("size", "size_sd", "place", "place_sd", "width"):
        assert getattr(steps, name) == pytest.approx(getattr(whole, name), rel=1e-12)
