"""Training on a book: say first what the model in use thinks of the new batches, then learn, check, only then switch.

A new version is stored whatever it is worth; it is put in use when its left-out batches are forecast no worse than
those of the version in use were, and the report says which way it went.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.learning.experience import Experience, SetAside, experience_of
from springfit.learning.fitting import Fit, fit_model, physics_model
from springfit.learning.model import SpringModel
from springfit.learning.store import ModelStore, write_atomic
from springfit.learning.validation import Validation, validate
from springfit.records.book import Book

__all__ = ["Training", "train"]

WORSE = 1.1  # times the left-out error of the version in use at which a new version is not put in use
FLARE_PART = 0.6  # of the arc: beyond it lies the flare, on which forecasts are judged
LOG = "forecast_log.csv"


@dataclass(frozen=True)
class Training:
    """What a training did: the new `version`, whether it is `in_use`, why, its validation, and what was set aside."""

    version: str
    in_use: bool
    reason: str
    batches: int
    bells: int
    readings: int
    validation: Validation | None
    set_aside: tuple[SetAside, ...]
    unmeasured_scrap: int
    logged: int
    model: SpringModel


def train(
    book: Book,
    findings: Sequence[Finding],
    store: ModelStore,
    *,
    progress: Callable[[str], None] = lambda _: None,
) -> Training:
    """Learn `book` into `store`. Raises BookError for an alloy that is not known, or a damaged store."""
    progress("reading steel and bells")
    experience = experience_of(book, findings)
    before = store.load() if store.in_use() else None
    version = store.next_version()
    fit = fit_model(experience, progress=progress)
    checked = None
    if fit is None:
        model = physics_model(experience, version)
    else:
        checked = validate(fit, progress=progress)
        model = fit.model(version, checked.as_dict())
    logged = _log_forecasts(before, fit, store.folder) if fit is not None else 0
    store.save(model)
    in_use, reason = _judged(before, model)
    if in_use:
        store.use(version)
    return Training(
        version=version, in_use=in_use, reason=reason, batches=len(model.batches), bells=model.bells,
        readings=sum(bell.readings for bell in experience.raw), validation=checked, set_aside=model.set_aside,
        unmeasured_scrap=_unmeasured_scrap(book, experience), logged=logged, model=model,
    )  # fmt: skip


def _judged(before: SpringModel | None, model: SpringModel) -> tuple[bool, str]:
    """Whether the new version is put in use, and why."""
    if before is None:
        return True, "it is the first version"
    old, new = _left_out_rms(before), _left_out_rms(model)
    if old is None or new is None:
        return True, "there is no earlier validation to hold it against"
    if new <= WORSE * old:
        return True, f"left-out batches are forecast to {new:.3f} mm rms, {old:.3f} mm with {before.version}"
    return (
        False,
        f"left-out batches are forecast to {new:.3f} mm rms, worse than {old:.3f} mm with {before.version}",
    )


def _left_out_rms(model: SpringModel) -> float | None:
    rms = model.validation.get("left_out_batches", {}).get("rms_mm")
    return float(rms) if rms is not None and np.isfinite(rms) else None


def _log_forecasts(before: SpringModel | None, fit: Fit, folder: Path) -> int:
    """Append what the version in use said of batches it had not learned, beside what was then measured."""
    if before is None:
        return 0
    known = {batch.batch_id for batch in before.batches}
    made, rows = fit.experience, []
    for batch in fit.layout.facts:
        if batch in known:
            continue
        told = before.gap(made.meridian(batch), made.conditions[batch])
        arc, measured = fit.measured_gap(batch)
        flare = told.arc > FLARE_PART * told.arc[-1]
        error = told.gap - np.interp(told.arc, arc, measured)
        inside = np.abs(error) <= 1.645 * told.mean_sd
        rows.append(
            {
                "batch_id": batch,
                "version": before.version,
                "rms_mm": round(float(np.sqrt(np.mean(error[flare] ** 2))), 4),
                "worst_mm": round(float(np.max(np.abs(error[flare]))), 4),
                "inside_band": round(float(np.mean(inside[flare])), 3),
            }
        )
    if rows:
        path = folder / LOG
        old = path.read_text(encoding="utf-8") if path.is_file() else ""
        write_atomic(path, old + pd.DataFrame(rows).to_csv(index=False, header=not old, lineterminator="\n"))
    return len(rows)


def _unmeasured_scrap(book: Book, experience: Experience) -> int:
    """Count of scrapped bells without a reading: what went wrong with them nobody can learn."""
    measured = {bell.bell_id for bell in experience.raw}
    scrap = book.bells[book.bells["verdict"] == "scrap"]["bell_id"]
    return int(sum(bell not in measured for bell in scrap))
