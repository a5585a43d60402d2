"""Training on a book: say first what the model in use thinks of the new batches, then learn, check, only then switch.

New batches are added to the model in use while its records stand and they are few; otherwise the book is fitted whole.
A new version is stored whatever it is worth; it is put in use unless it forecasts the new batches worse than the
version in use did, or, where there are none, its left-out batches. The report says which way both went.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from springfit.files import write_file
from springfit.findings import BookError, Finding
from springfit.learning.calibration.calibrated import calibrated_experience
from springfit.learning.experience import experience_of
from springfit.learning.fit import Fit
from springfit.learning.fitting import fit_model, physics_model
from springfit.learning.memory import Memory, NothingLearned, why_refit
from springfit.learning.model import SpringModel
from springfit.learning.regression.estimation import Squares, running_squares
from springfit.learning.set_aside import SetAside
from springfit.learning.validation.leaving_out import model_without
from springfit.learning.validation.running_log import LOG, Told, judged, log_text, read_log, told_of
from springfit.learning.validation.scores import Validation, validate
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
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.updating import Update, updated
from springfit.records.book import Book
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.records.part import batch_digests, part_of

__all__ = ["Training", "train"]

# New batches that are left out one by one, evenly among them; as many as are scored (`scores.MOST_ASKED`)
MOST_COMPARED = 40

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Training:
    """What a training did: the new `version`, `how` it was learned, whether it is `in_use`, why, its `validation` (None
    after an update: that of version `full` holds), the running `log`, and what was set aside."""

    version: str
    how: HowLearned
    in_use: bool
    reason: WhyInUse
    batches: int
    bells: int
    readings: int
    full: str
    validation: Validation | None
    set_aside: tuple[SetAside, ...]
    unmeasured_scrap: int
    logged: int
    log: tuple[Told, ...]
    model: SpringModel


@dataclass(frozen=True)
class _Learned:
    """A model just learned: `how`, the fit in which its new batches stand, and it with one of them left out."""

    how: HowLearned
    model: SpringModel
    fit: Fit | None
    validation: Validation | None
    without: Callable[[str], SpringModel | None]


def train(
    book: Book, findings: Sequence[Finding], store: ModelStore, *, progress: Progress = lambda _: None
) -> Training:
    """Learn `book` into `store`. Raises BookError for an alloy that is not known, or a damaged log of forecasts."""
    progress("reading steel and bells")
    before, unread = _in_use(store)
    version = store.next_version()
    book = without_doubted_rows(book, findings)
    digests = batch_digests(book, [one.subject for one in findings if one.sets_aside])
    had = before.memory if before else None
    why = unread or why_refit(had, digests)
    if before is not None and why is None:
        done = _added(book, findings, digests, version, before, progress)
    else:
        how = FittedWhole(why or NothingLearned(), again=had is not None)
        done = _refitted(book, findings, digests, version, how, progress)
    said, hindsight = _said(before, done)
    text = log_text(read_log(store.folder), said)
    in_use, reason = _judged(before, done.model, said, hindsight)
    # Last of all the version, by one rename. Where it is stopped before, the log says what it said once, however often
    # the same is said again.
    if said:
        write_file(store.folder / LOG, text.encode("utf-8"))
    store.save(done.model, use=in_use)
    model, memory = done.model, done.model.memory
    return Training(
        version=version, how=done.how, in_use=in_use, reason=reason, batches=len(model.batches), bells=model.bells,
        readings=memory.readings if memory else 0, full=memory.full if memory else version,
        validation=done.validation, set_aside=model.set_aside, unmeasured_scrap=_unmeasured_scrap(book),
        logged=len(said), log=read_log(store.folder), model=model,
    )  # fmt: skip


def _in_use(store: ModelStore) -> tuple[SpringModel | None, Unreadable | None]:
    """The model in use; None before the first, and why it cannot be read where it cannot: then nothing is added to it,
    and the book is fitted whole as if it were the first."""
    try:
        return (store.load() if store.in_use() else None), None
    except BookError as refused:
        return None, Unreadable(refused.findings[0].what)


def _refitted(
    book: Book,
    findings: Sequence[Finding],
    digests: dict[str, str],
    version: str,
    how: FittedWhole,
    progress: Progress,
) -> _Learned:
    """The whole book fitted and validated; mechanics alone where no sound bell is in it."""
    experience = calibrated_experience(book, findings, progress=progress)
    fit = fit_model(experience, progress=progress)
    if fit is None:
        return _Learned(how, physics_model(experience, version), None, None, lambda _: None)
    checked = validate(fit, progress=progress)
    squares = {
        one.structure.name: running_squares(fit.summaries, fit.layout, one.posterior) for one in fit.solved
    }
    readings = sum(bell.readings for bell in experience.raw)
    memory = Memory(digests, _plain(squares), readings, version, len(digests))
    told = checked.as_dict()

    def without(batch: str) -> SpringModel | None:
        if len(fit.layout.facts) < 2:
            return None
        return replace(
            model_without(fit, [batch]), version=version, validation=told, known=checked.known, new=checked.new
        )

    model = replace(fit.model(version, told, known=checked.known, new=checked.new), memory=memory)
    return _Learned(how, model, fit, checked, without)


def _added(
    book: Book, findings: Sequence[Finding], digests: dict[str, str], version: str,
    before: SpringModel, progress: Progress,
) -> _Learned:  # fmt: skip
    """The new batches added to the model in use; only their steel, bells and readings are looked at."""
    had = before.memory
    assert had is not None
    new = had.new_batches(digests)
    progress(f"adding {len(new)} batches to {before.version}")
    fresh = experience_of(
        part_of(book, new), findings, hand=before.hand, known=before.layout.columns, progress=progress
    )
    update: Update = updated(before, had.squares, fresh)
    memory = replace(
        had, digests={**had.digests, **{batch: digests[batch] for batch in new}}, squares=_plain(update.squares),
        readings=had.readings + sum(bell.readings for bell in fresh.raw),
    )  # fmt: skip
    model = replace(update.model(version), memory=memory)
    how = Added(len(new), before.version)
    return _Learned(how, model, update.fit, None, lambda batch: update.without(batch, version))


def _plain(squares: Mapping[str, Squares]) -> dict[str, dict[str, tuple[float, float]]]:
    return {
        structure: {name: (float(total), float(count)) for name, (total, count) in each.items()}
        for structure, each in squares.items()
    }


def _said(before: SpringModel | None, done: _Learned) -> tuple[list[Told], list[tuple[Told, Told]]]:
    """What the version in use said of each batch it had not learned, and for some of them that beside what the new
    version says when it is left out."""
    if before is None or done.fit is None:
        return [], []
    known = {batch.batch_id for batch in before.batches}
    said = [told_of(before, done.fit, batch) for batch in done.fit.layout.facts if batch not in known]
    hindsight = []
    for told in said[:: max(1, -(-len(said) // MOST_COMPARED))]:
        model = done.without(told.batch_id) if before.batches else None
        if model is not None:
            hindsight.append((told, told_of(model, done.fit, told.batch_id)))
    return said, hindsight


def _judged(
    before: SpringModel | None,
    model: SpringModel,
    said: Sequence[Told],
    hindsight: Sequence[tuple[Told, Told]],
) -> tuple[bool, WhyInUse]:
    """Whether the new version is put in use, and why."""
    if before is None:
        return True, IsFirst()
    if not before.batches:
        return True, KnewNoBell(before.version)
    if not model.batches:
        return False, NothingToLearn(before.version, len(before.batches))
    if hindsight:
        old, new = zip(*hindsight, strict=True)
        held = judged(old, new)
        return not held.worse, held
    rms, had = _left_out_rms(model), _left_out_rms(before)
    if rms is None or had is None:
        return True, NothingToHoldAgainst()
    held_out = LeftOutRms(rms, had, before.version)
    return not held_out.worse, held_out


def _left_out_rms(model: SpringModel) -> float | None:
    rms = model.validation.get("left_out_batches", {}).get("rms_mm")
    return float(rms) if rms is not None and np.isfinite(rms) else None


def _unmeasured_scrap(book: Book) -> int:
    """Count of scrapped bells without a reading: what went wrong with them nobody can learn."""
    measured = set(book.measurements["bell_id"])
    scrap = book.bells[book.bells["verdict"] == "scrap"]["bell_id"]
    return int(sum(bell not in measured for bell in scrap))
