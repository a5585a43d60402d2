"""What is to be decided about one job: the forecast, the error and its parts, the rows to judge, the bells."""

from __future__ import annotations

from springfit.decisions.bells.bell_support import support_of
from springfit.decisions.bells.own_bells import OwnBells
from springfit.decisions.cut_tables.turning_sizes import at_end_face
from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.job import Job
from springfit.decisions.need.inverse import Predict, mandrel_for
from springfit.decisions.need.masking import find_masks
from springfit.decisions.need.split import split_error
from springfit.decisions.verdict.decision_case import Case
from springfit.decisions.verdict.disagreement import disputed_rows
from springfit.decisions.verdict.unread_tail import unread_tail
from springfit.learning.coverage import INSIDE

__all__ = ["bell_of_job", "case_of"]


def bell_of_job(job: Job, predict: Predict) -> Predict:
    """The bell of a line as far as there is steel under it."""
    return lambda line: predict(at_end_face(line, job.mandrel.z[-1]))


def case_of(
    job: Job, predict: Predict, evidence: MandrelEvidence, ratio: float, own: OwnBells | None
) -> tuple[Case, Forecast]:
    """What is to be decided, and the forecast of the present mandrel. own: the mandrel's bells in the book; None where
    no book was asked, so that the forecast speaks alone."""
    bell_of = bell_of_job(job, predict)
    forecast = bell_of(job.mandrel)
    faults = [fault for fault in evidence.habits if abs(fault.size_mm) > job.tolerance_mm]
    split = split_error(job.mandrel, job.target, forecast, evidence)
    bells = None if own is None else support_of(own, job.mandrel, job.target, revision=job.revision)
    masks = find_masks(
        job.mandrel, job.target, rim_mm=forecast.meridian.length, beaded=job.beaded, faults=faults,
        disputed=disputed_rows(bells, split), unread=unread_tail(bells, split, job.mandrel),
    )  # fmt: skip
    case = Case(
        mandrel=job.mandrel,
        inverse=mandrel_for(job.target, job.mandrel, bell_of, open_rows=masks.open, forecast=forecast),
        split=split,
        masks=masks,
        evidence=evidence,
        tolerance_mm=job.tolerance_mm,
        slide_allowance_mm=job.slide_allowance_mm,
        cost_ratio=ratio,
        bells=bells,
        trusted=forecast.trust_at(job.mandrel.s) == INSIDE,
    )
    return case, forecast
