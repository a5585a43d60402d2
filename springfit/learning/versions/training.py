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
from springfit.learning.experience import SetAside, experience_of
from springfit.learning.fit import Fit
from springfit.learning.fitting import fit_model, physics_model
from springfit.learning.memory import Memory, why_refit
from springfit.learning.model import SpringModel
from springfit.learning.regression.estimation import Squares, running_squares
from springfit.learning.validation.leaving_out import model_without
from springfit.learning.validation.running_log import LOG, Told, judged, log_text, read_log, told_of
from springfit.learning.validation.scores import Validation, validate
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.updating import Update, updated
from springfit.records.book import Book
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.records.part import batch_digests, part_of

__all__ = ["Training", "train"]

WORSE = 1.1  # times the left-out error of the version in use at which a version of the same batches is not put in use
MOST_COMPARED = 40  # new batches that are left out one by one, evenly among them

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Training:
    """What a training did: the new `version`, `how` it was learned, whether it is `in_use`, why, its `validation` (None
    after an update: that of version `full` holds), the running `log`, and what was set aside."""

    version: str
    how: str
    in_use: bool
    reason: str
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

    how: str
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
    why = unread or why_refit(before.memory if before else None, digests)
    if before is None or before.memory is None or why is not None:
        how = f"{'refitted' if before and before.memory else 'fitted whole'}: {why}"
        done = _refitted(book, findings, digests, version, how, progress)
    else:
        done = _added(book, findings, digests, version, before, progress)
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


def _in_use(store: ModelStore) -> tuple[SpringModel | None, str | None]:
    """The model in use; None before the first, and why it cannot be read where it cannot: then nothing is added to it,
    and the book is fitted whole as if it were the first."""
    try:
        return (store.load() if store.in_use() else None), None
    except BookError as refused:
        return None, f"the version in use cannot be read ({refused.findings[0].what})"


def _refitted(
    book: Book,
    findings: Sequence[Finding],
    digests: dict[str, str],
    version: str,
    how: str,
    progress: Progress,
) -> _Learned:
    """The whole book fitted and validated; mechanics alone where no sound bell is in it."""
    experience = experience_of(book, findings, progress=progress)
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
    fresh = experience_of(part_of(book, new), findings, known=before.layout.columns, progress=progress)
    update: Update = updated(before, had.squares, fresh)
    memory = replace(
        had, digests={**had.digests, **{batch: digests[batch] for batch in new}}, squares=_plain(update.squares),
        readings=had.readings + sum(bell.readings for bell in fresh.raw),
    )  # fmt: skip
    how = f"updated with {len(new)} batch{'es' if len(new) > 1 else ''}, added to what {before.version} knows"
    model = replace(update.model(version), memory=memory)
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
) -> tuple[bool, str]:
    """Whether the new version is put in use, and why."""
    if before is None:
        return True, "it is the first version"
    if not before.batches:
        return True, f"{before.version} had learned from no bell"
    if not model.batches:
        return (
            False,
            f"nothing can be learned from this book, {before.version} knows {len(before.batches)} batches",
        )
    if hindsight:
        old, new = zip(*hindsight, strict=True)
        return judged(old, new)
    rms, had = _left_out_rms(model), _left_out_rms(before)
    if rms is None or had is None:
        return True, "there is no earlier validation to hold it against"
    words = f"left-out batches are forecast to {rms:.3f} mm rms, {had:.3f} mm with {before.version}"
    return rms <= WORSE * had, words


def _left_out_rms(model: SpringModel) -> float | None:
    rms = model.validation.get("left_out_batches", {}).get("rms_mm")
    return float(rms) if rms is not None and np.isfinite(rms) else None


def _unmeasured_scrap(book: Book) -> int:
    """Count of scrapped bells without a reading: what went wrong with them nobody can learn."""
    measured = set(book.measurements["bell_id"])
    scrap = book.bells[book.bells["verdict"] == "scrap"]["bell_id"]
    return int(sum(bell not in measured for bell in scrap))
