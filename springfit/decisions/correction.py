"""The correction of a mandrel: forecast, inverse, split, verdict and tables of one job put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.decisions.cut_tables.as_cut import AsCut, compare_as_cut
from springfit.decisions.cut_tables.cutting import cut_table
from springfit.decisions.cut_tables.facet_table import facet_table
from springfit.decisions.cut_tables.stations import station_table
from springfit.decisions.cut_tables.turning_sizes import at_end_face
from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.job import Job, job_from_book
from springfit.decisions.learned_shop import ShopModel
from springfit.decisions.need.inverse import Predict, mandrel_for
from springfit.decisions.need.masking import find_masks
from springfit.decisions.need.split import split_error
from springfit.decisions.verdict.blanks import blank_columns, completions
from springfit.decisions.verdict.cautious import default_cost_ratio
from springfit.decisions.verdict.discontinued_faults import without_discontinued
from springfit.decisions.verdict.questions import Case, Decision, Verdict, decide
from springfit.findings import BookError, Finding
from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.records.book import Book
from springfit.records.conditions import Conditions

__all__ = ["Correction", "correct", "correction_of"]


@dataclass(frozen=True)
class Correction:
    """Everything a report on one mandrel rests on; lengths [mm], frames with `_mm` columns.

    job: what was asked. case: what the decision was reached from, on the stations of the present steel. stations: a
    row a station, sizes at one z, amounts per side along the normal. forecast: of the present mandrel;
    corrected_forecast: of the mandrel after the cut now (the same when nothing is cut). new_line: the steel after that
    cut. as_cut: against the plan, when this revision is newer than every bell.
    """

    job: Job
    case: Case
    decision: Decision
    stations: pd.DataFrame
    cut_table: pd.DataFrame
    facets: pd.DataFrame
    forecast: Forecast
    corrected_forecast: Forecast
    new_line: Meridian
    conditions: Conditions
    model_version: str
    book_digest: str
    as_cut: AsCut | None = None

    @property
    def verdict(self) -> Verdict:
        """What to do, and why."""
        return self.decision.verdict

    @property
    def cuts_steel(self) -> bool:
        """Whether any steel comes off now."""
        return bool(self.decision.cut_mm.any())

    def to_frame(self) -> pd.DataFrame:
        """A row a station, tail to rim [mm]: sizes now, after the cut and wanted, the error and its parts, trust."""
        return self.stations.copy()


def correct(
    shop: ShopModel,
    book: Book,
    target_id: str,
    *,
    conditions: Conditions | None = None,
    cost_ratio: float | None = None,
    skive_mm: float = 0.1,
) -> Correction:
    """The correction of a target's mandrel as the book has it now.

    conditions: those of the mandrel's newest batch unless stated. When the newest revision was measured but no bell of
    it yet, the steel is also compared with what would have been planned for the revision before it. Raises BookError
    when the target cannot be asked about, or no conditions are known.
    """
    job = job_from_book(book, target_id)
    spun = _newest_conditions(book, job) if conditions is None else conditions

    def corrected(one: Job) -> Correction:
        known = shop.evidence(one.mandrel_id, one.revision, one.mandrel)
        return correction_of(
            one,
            _under(shop, spun),
            without_discontinued(known, book, spun),
            conditions=spun,
            model_version=shop.version,
            book_digest=book.digest,
            cost_ratio=cost_ratio,
            skive_mm=skive_mm,
            others=[_under(shop, how) for how in completions(book, one.mandrel_id, spun)],
        )

    now, before = corrected(job), _revision_before(book, job)
    if before is None or _is_measured(book, job):
        return now
    return replace(now, as_cut=_against_plan(job, before, corrected(before), _under(shop, spun)))


def _under(shop: ShopModel, conditions: Conditions) -> Predict:
    """The bell of any mandrel under these conditions."""
    return lambda mandrel: shop.forecast(mandrel, conditions)


def _against_plan(job: Job, before: Job, plan: Correction, predict: Predict) -> AsCut:
    """The steel of `job` against what was planned for the steel before it."""
    found, bell_of, rows = job.mandrel, _bell_of(job, predict), plan.case.masks.open
    return compare_as_cut(before.mandrel, plan.new_line, found, job.target, bell_of, open_rows=rows)


def _newest_conditions(book: Book, job: Job) -> Conditions:
    """Conditions of the newest batch on the mandrel; BookError when none was ever spun on it."""
    try:
        return book.conditions(book.newest_batch(job.mandrel_id))
    except KeyError:
        what = f"no batch was ever spun on mandrel {job.mandrel_id!r}, so how it is spun is not known"
        remedy = "give a conditions file with one row"
        raise BookError((Finding("error", "batches", None, "mandrel_id", what, "a batch", remedy),)) from None


def _is_measured(book: Book, job: Job) -> bool:
    """Whether any bell of this very revision has been measured."""
    batches = book.batches
    here = (batches["mandrel_id"] == job.mandrel_id) & (batches["revision"] == job.revision)
    bells = book.bells[book.bells["batch_id"].isin(batches[here]["batch_id"])]["bell_id"]
    return bool(book.measurements["bell_id"].isin(bells).any())


def _revision_before(book: Book, job: Job) -> Job | None:
    """The same job on the steel as it was before its newest revision; None for the first."""
    revisions = book.mandrels[book.mandrels["mandrel_id"] == job.mandrel_id]["revision"].astype(int)
    earlier = revisions[revisions < job.revision]
    return None if earlier.empty else job_from_book(book, job.target_id, revision=int(earlier.max()))


def correction_of(
    job: Job,
    predict: Predict,
    evidence: MandrelEvidence,
    *,
    conditions: Conditions,
    model_version: str,
    book_digest: str,
    cost_ratio: float | None = None,
    skive_mm: float = 0.1,
    others: Sequence[Predict] = (),
) -> Correction:
    """The correction of `job` by any forecast: `predict` gives the bell of a mandrel under `conditions`.

    others: forecasts under what the blanks of `conditions` may have been; no more is cut than the least of them asks.
    """
    ratio = default_cost_ratio(job.finish) if cost_ratio is None else cost_ratio
    case, forecast = _case(job, predict, evidence, ratio)
    decision = decide(case)
    if others and decision.cut_mm.any():
        asked = [decide(_case(job, other, evidence, ratio)[0]).cut_mm for other in others]
        case = replace(case, ceiling_mm=np.min(asked, axis=0), unwritten=blank_columns(conditions))
        decision = decide(case)
    bell_of, new_line = _bell_of(job, predict), offset(job.mandrel, -decision.cut_mm)
    return Correction(
        job=job,
        case=case,
        decision=decision,
        stations=station_table(case, decision, job.target, _trust_on(job.mandrel.s, forecast)),
        cut_table=_cut_table(case, decision, skive_mm),
        facets=facet_table(job.mandrel_facets, job.target_facets, forecast, bell_of),
        forecast=forecast,
        corrected_forecast=bell_of(new_line) if decision.cut_mm.any() else forecast,
        new_line=new_line,
        conditions=conditions,
        model_version=model_version,
        book_digest=book_digest,
    )


def _bell_of(job: Job, predict: Predict) -> Predict:
    """The bell of a line as far as there is steel under it."""
    return lambda line: predict(at_end_face(line, job.mandrel.z[-1]))


def _case(job: Job, predict: Predict, evidence: MandrelEvidence, ratio: float) -> tuple[Case, Forecast]:
    """What is to be decided, and the forecast of the present mandrel."""
    bell_of = _bell_of(job, predict)
    forecast = bell_of(job.mandrel)
    faults = [fault for fault in evidence.habits if abs(fault.size_mm) > job.tolerance_mm]
    masks = find_masks(
        job.mandrel, job.target, rim_mm=forecast.meridian.length, bead_mm=job.bead_mm, faults=faults
    )
    case = Case(
        mandrel=job.mandrel,
        inverse=mandrel_for(job.target, job.mandrel, bell_of, open_rows=masks.open, forecast=forecast),
        split=split_error(job.mandrel, job.target, forecast, evidence),
        masks=masks,
        evidence=evidence,
        tolerance_mm=job.tolerance_mm,
        slide_allowance_mm=job.slide_allowance_mm,
        cost_ratio=ratio,
    )
    return case, forecast


def _cut_table(case: Case, decision: Decision, skive_mm: float) -> pd.DataFrame:
    """The cut now; for a new flare the whole line, left as full as caution asks."""
    if decision.verdict.verdict == "new_flare":
        need = case.inverse.removal_mm
        return cut_table(case.mandrel, need - case.margin, need, skive_mm=skive_mm, whole=True)
    return cut_table(case.mandrel, decision.cut_mm, decision.most_mm, skive_mm=skive_mm)


def _trust_on(s: FloatArray, forecast: Forecast) -> NDArray[np.str_]:
    """The forecast's word for each station of the mandrel, physics only where there is no bell."""
    nearest = np.clip(np.searchsorted(forecast.meridian.s, s), 0, forecast.meridian.s.size - 1)
    words = np.array(forecast.trust)[nearest]
    return np.where(s <= forecast.meridian.length + 1e-9, words, "physics_only")
