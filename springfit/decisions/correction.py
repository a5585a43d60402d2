"""The correction of a mandrel: forecast, inverse, split, verdict and tables of one job put together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.decisions.bells.measured_errors import measured_errors, nothing_measured
from springfit.decisions.bells.own_bells import OwnBells, no_bells, own_bells
from springfit.decisions.cut_tables.as_cut import AsCut, Ordered, compare_as_cut
from springfit.decisions.cut_tables.facet_table import facet_table
from springfit.decisions.cut_tables.sizes_to_turn import USUAL_SKIVE_MM, sizes_to_turn
from springfit.decisions.cut_tables.stations import station_table
from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.job import Job, job_from_book
from springfit.decisions.judging import bell_of_job, case_of
from springfit.decisions.learned_shop import ShopModel
from springfit.decisions.need.inverse import Predict
from springfit.decisions.unlearned import ALL_LEARNED, Unlearned
from springfit.decisions.verdict.blanks import blank_columns, completions, extremes
from springfit.decisions.verdict.cautious import default_cost_ratio
from springfit.decisions.verdict.discontinued_faults import without_discontinued
from springfit.decisions.verdict.questions import Case, Decision, Verdict, decide
from springfit.decisions.verdict.settling import Settling, what_would_settle
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
    cut. as_cut: against the plan, when this revision is newer than every bell. bells: the mandrel's own, batch by
    batch; measured: what they showed, a row a batch and station. folds_at_mm: z from which the wanted new flare cannot
    be turned; None where all of it can. settling: what would settle a verdict that waits, dearest first.
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
    bells: OwnBells = field(default_factory=no_bells)
    measured: pd.DataFrame = field(default_factory=nothing_measured)
    folds_at_mm: float | None = None
    settling: tuple[Settling, ...] = ()

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
    skive_mm: float = USUAL_SKIVE_MM,
    unlearned: Unlearned = ALL_LEARNED,
    ordered: Ordered | None = None,
) -> Correction:
    """The correction of a target's mandrel as the book has it now.

    conditions: those of the mandrel's newest batch unless stated. unlearned: measured batches that `shop` has not
    learned, for which no cut is ordered. A newest revision is compared with the cut that was `ordered` for the one
    before it; without a stored order, and before its first bell, with what would have been planned. Raises BookError
    when the target cannot be asked about, or no conditions are known.
    """
    job = job_from_book(book, target_id)
    spun = _newest_conditions(book, job) if conditions is None else conditions

    def corrected(one: Job) -> Correction:
        known = shop.evidence(one.mandrel_id, one.revision, one.mandrel)
        known = replace(known, unlearned=unlearned)
        moved = _axial_motion(bell_of_job(one, _under(shop, spun, one))(one.mandrel))
        return correction_of(
            one, _under(shop, spun, one), without_discontinued(known, book, spun), conditions=spun,
            model_version=shop.version, book_digest=book.digest, cost_ratio=cost_ratio, skive_mm=skive_mm,
            others=[_under(shop, how, one) for how in completions(book, one.mandrel_id, spun)],
            bells=own_bells(book, one, spun, left_out=known.left_out, axial_at=moved),
        )  # fmt: skip

    now, before = _with_settling(corrected(job), shop, book), _revision_before(book, job)
    if before is None or (ordered is None and _is_measured(book, job)):
        return now
    line, rows = _planned(corrected(before)) if ordered is None else ordered.on(before.mandrel)
    return replace(now, as_cut=_against_plan(job, before, line, rows, _under(shop, spun, job)))


def _with_settling(waiting: Correction, shop: ShopModel, book: Book) -> Correction:
    """The correction with what would settle it, when it waits."""
    if waiting.verdict.verdict != "wait":
        return waiting
    job, how, gap = waiting.job, waiting.conditions, waiting.forecast.gap
    spread: dict[str, FloatArray] = {}
    for column, low, high in extremes(book, job.mandrel_id, how):
        ends = [bell_of_job(job, _under(shop, one, job))(job.mandrel).gap for one in (low, high)]
        if ends[0].size == ends[1].size == gap.size:
            half = 0.5 * np.abs(ends[1] - ends[0])
            spread[column] = np.interp(job.mandrel.s, waiting.forecast.meridian.s, half)
    return replace(waiting, settling=what_would_settle(waiting.case, spread))


def _planned(plan: Correction) -> tuple[Meridian, NDArray[np.bool_]]:
    """The line that would have been ordered, and the judged rows of the steel before it."""
    return plan.new_line, plan.case.masks.open


def _axial_motion(forecast: Forecast) -> Callable[[float], float]:
    """Motion of a place of the bell along the axis [mm], by its arc [mm]."""
    return lambda arc: float(np.interp(arc, forecast.arc, forecast.axial))


def _under(shop: ShopModel, conditions: Conditions, job: Job) -> Predict:
    """The bell of any line cut from the steel of `job` under these conditions. What laying locks in is that of the
    present steel: laid anew on lines cut by 0.05 to 0.3 mm, four mandrels' bells moved by 0.0003 to 0.0024 mm rms,
    which is within what laying is worked out to, for a minute more of waiting."""
    return lambda line: shop.forecast(line, conditions, laid_on=job.mandrel)


def _against_plan(job: Job, before: Job, planned: Meridian, rows: NDArray[np.bool_], predict: Predict) -> AsCut:
    """The steel of `job` against the line `planned` for the steel before it, on its judged `rows`."""
    bell_of = bell_of_job(job, predict)
    return compare_as_cut(before.mandrel, planned, job.mandrel, job.target, bell_of, open_rows=rows)


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
    skive_mm: float = USUAL_SKIVE_MM,
    others: Sequence[Predict] = (),
    bells: OwnBells | None = None,
) -> Correction:
    """The correction of `job` by any forecast: `predict` gives the bell of a mandrel under `conditions`.

    others: forecasts under what the blanks of `conditions` may have been; no more is cut than the least of them asks.
    bells: of this mandrel; no removal passes what they support, and without any nothing is cut (None: no book asked).
    """
    ratio = default_cost_ratio(job.finish) if cost_ratio is None else cost_ratio
    own = no_bells() if bells is None else bells
    case, forecast = case_of(job, predict, evidence, ratio, bells)
    decision = decide(case)
    if others and decision.cut_mm.any():
        asked = [case_of(job, other, evidence, ratio, bells)[0] for other in others]
        decision = decide(case := _with_ceiling(case, asked, blank_columns(conditions)))
    bell_of, new_line = bell_of_job(job, predict), offset(job.mandrel, -decision.cut_mm)
    sizes, folds_at = sizes_to_turn(case, decision, job, skive_mm=skive_mm, rim_mm=forecast.meridian.length)
    return Correction(
        job, case, decision, stations=station_table(case, decision, job.target, forecast), cut_table=sizes,
        facets=facet_table(job.mandrel_facets, job.target_facets, forecast, bell_of),
        forecast=forecast,
        corrected_forecast=bell_of(new_line) if decision.cut_mm.any() else forecast,
        new_line=new_line,
        conditions=conditions,
        model_version=model_version,
        book_digest=book_digest,
        bells=own, measured=measured_errors(own, job.mandrel, job.target, case.split.error),
        folds_at_mm=folds_at,
    )  # fmt: skip


def _with_ceiling(case: Case, asked: Sequence[Case], unwritten: tuple[str, ...]) -> Case:
    """The case under a ceiling: the least cut of those `asked` in its place, because columns were left blank."""
    return replace(case, ceiling_mm=np.min([decide(one).cut_mm for one in asked], axis=0), unwritten=unwritten)
