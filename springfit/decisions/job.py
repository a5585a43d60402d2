"""What a correction is asked about, from the record book: the steel, the wanted bell, the allowances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from springfit.findings import BookError, Finding
from springfit.geometry.facets.finder import FacetFinder
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.learning.data.mandrel_steel import STEEL_ERROR_MM, draft_meridian, steel_meridian
from springfit.records.book import Book

__all__ = ["Job", "job_from_book"]

MARKS_MM = 3.0  # an eighth of an inch: the closest that lines are scribed on a mandrel


@dataclass(frozen=True)
class Job:
    """One mandrel revision and one wanted bell; lengths [mm], tolerance per side along the normal.

    beaded: whether bells of this mandrel get a bead. marked_mm: z at which the maker has measured, and so marked, this
    steel, thinned where it was scanned.
    mandrel_facets, target_facets: finders on the stations of both as measured.
    """

    target_id: str
    mandrel_id: str
    revision: int
    mandrel: Meridian
    target: Meridian
    tolerance_mm: float
    slide_allowance_mm: float
    finish: str | None
    beaded: bool
    marked_mm: FloatArray
    mandrel_facets: FacetFinder
    target_facets: FacetFinder


def job_from_book(book: Book, target_id: str, *, revision: int | None = None) -> Job:
    """The job of a target: its mandrel's newest revision unless another is named.

    Raises BookError when the target is not in the book, names no mandrel, or has no profile.
    """
    rows = book.targets[book.targets["target_id"] == target_id]
    if not len(rows):
        known = ", ".join(sorted(map(str, book.targets["target_id"]))) or "none"
        raise BookError((_refusal(f"no target {target_id!r}", f"one of: {known}"),))
    row = rows.iloc[0]
    if row["mandrel_id"] is None:
        what = f"target {target_id!r} names no mandrel"
        raise BookError((_refusal(what, "the mandrel_id it is meant for"),))
    mandrel_id = str(row["mandrel_id"])
    revisions = book.mandrels[book.mandrels["mandrel_id"] == mandrel_id]
    chosen = int(revisions["revision"].max()) if revision is None else revision
    finish = revisions[revisions["revision"] == chosen]["finish"].iloc[0]
    slide = float(row["slide_mm"])
    steel = steel_meridian(book, mandrel_id, chosen)
    # smoothed as the steel is, so that what smoothing takes from a crisp facet cancels in the error
    wanted = draft_meridian(*book.target_profile_of(target_id))
    return Job(
        target_id=target_id,
        mandrel_id=mandrel_id,
        revision=chosen,
        mandrel=steel,
        target=wanted,
        tolerance_mm=float(row["tolerance_mm"]),
        slide_allowance_mm=slide if np.isfinite(slide) else 0.0,
        finish=finish,
        beaded=_is_beaded(book, mandrel_id),
        marked_mm=_marks(book.profile(mandrel_id, chosen)[0]),
        mandrel_facets=FacetFinder(steel, *book.profile(mandrel_id, chosen), diameter_error=STEEL_ERROR_MM),
        target_facets=FacetFinder(wanted, *book.target_profile_of(target_id), diameter_error=STEEL_ERROR_MM),
    )


def _marks(z: FloatArray) -> FloatArray:
    """Stations at least `MARKS_MM` apart: a line a millimetre from the next was never marked by hand."""
    kept = [float(z[0])]
    for place in z[1:]:
        if place - kept[-1] >= MARKS_MM:
            kept.append(float(place))
    return np.array(kept)


def _is_beaded(book: Book, mandrel_id: str) -> bool:
    """Whether bells of this mandrel were ever measured with a bead on."""
    batches = book.batches[book.batches["mandrel_id"] == mandrel_id]["batch_id"]
    bells = book.bells[book.bells["batch_id"].isin(batches)]["bell_id"]
    rows = book.measurements[book.measurements["bell_id"].isin(bells)]
    return bool((rows["stage"] == "beaded").any())


def _refusal(what: str, expected: str) -> Finding:
    return Finding("error", "targets", None, "target_id", what, expected)
