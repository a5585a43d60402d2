"""What the bells of a few batches show, read without any laying: the curves that a shop's hand is found from.

Fields of free stress follow whatever the bells show, so that nothing assumed of laying is read into them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.findings import Finding
from springfit.geometry.meridian import Meridian
from springfit.learning.basis.spun_sheet import blank_rim_arc, stage_rim_arc
from springfit.learning.experience import experience_of
from springfit.learning.fit import Fit
from springfit.learning.fitting import read_freely
from springfit.learning.training_frame import thinned
from springfit.learning.validation.leaving_out import measured_curve
from springfit.records.book import Book
from springfit.records.conditions import Conditions
from springfit.records.part import part_of

__all__ = ["ShownCurve", "shown_curves"]

Floats = NDArray[np.float64]

MOST_BATCHES = 10  # as many as numbers are sought; each is laid some thirty times
STATIONS = 14  # along a flare: some three a bend of it
# [-] of a gap, 1 sd: heats differ by 14 % (ASTM E1928-99, Table 1), and stand-offs by a quarter (`STARTING_SPREADS`),
# which bends the curve over a fifth of the flare
OF_SIZE, OF_SHAPE, ALIKE_OVER = 0.14, 0.25, 3.0
PLACE_MM, FLOOR_MM = 0.05, 0.005  # 1 sd of what a tail's pull moves, and of what no laying follows; assumed


@dataclass(frozen=True, eq=False)
class ShownCurve:
    """The mean gap (n,) [mm] of a batch at arcs (n,) [mm] of its flare, with `whitening` (n, n), which turns errors of
    it into independent ones of one sd each; `trim_at` [mm] where the bell was cut (None: not yet)."""

    mandrel: Meridian
    conditions: Conditions
    arc: Floats
    gap: Floats
    whitening: Floats
    trim_at: float | None


def shown_curves(book: Book, findings: Sequence[Finding]) -> tuple[ShownCurve, ...]:
    """The curves of a few measured batches of `book`, evenly among its mandrels; none where no sound bell was measured.

    Raises BookError for an alloy that the table does not have.
    """
    chosen = _most_measured(book)
    if not chosen:
        return ()
    fit = read_freely(experience_of(part_of(book, chosen), findings, hand=None))
    return tuple(_shown(fit, batch) for batch in fit.layout.facts if _has_spun_part(fit, batch)) if fit else ()


def _most_measured(book: Book) -> list[str]:
    """Batches of most measured bells without passes toward the tail, taken from each mandrel in turn."""
    measured = book.bells[book.bells["bell_id"].isin(set(book.measurements["bell_id"]))]
    count = Counter(measured["batch_id"].astype(str))
    of_mandrel: dict[str, list[str]] = {}
    batches = book.batches[~(book.batches["back_passes"].fillna(0) > 0)]
    for batch, mandrel in zip(batches["batch_id"].astype(str), batches["mandrel_id"].astype(str), strict=True):
        if count[batch]:
            of_mandrel.setdefault(mandrel, []).append(batch)
    turns = [
        (turn, mandrel, batch)
        for mandrel, some in of_mandrel.items()
        for turn, batch in enumerate(sorted(some, key=lambda batch: -count[batch]))
    ]
    return [batch for _, _, batch in sorted(turns, key=lambda one: one[0])[:MOST_BATCHES]]


def _has_spun_part(fit: Fit, batch: str) -> bool:
    """Whether anything is left of a bell beyond where drawing stopped."""
    made = fit.experience
    rim = stage_rim_arc(made.meridian(batch), made.conditions[batch], made.measured_bases[batch].stage)
    return rim > made.draw_end_arc(batch)


def _shown(fit: Fit, batch: str) -> ShownCurve:
    """The curve of a batch, no surer than what laying can follow of it."""
    measured, made = measured_curve(fit, batch), fit.experience
    some = list(thinned(len(measured.curve.arc), STATIONS))
    gap, sine = measured.curve.gap[some], np.sin(measured.curve.slope[some])
    apart = np.abs(np.subtract.outer(np.arange(len(some)), np.arange(len(some))))
    bent = (OF_SHAPE**2 * float(np.mean(gap**2)) + FLOOR_MM**2) * np.exp(-apart / ALIKE_OVER)
    placed = (measured.place_variance + PLACE_MM**2) * np.outer(sine, sine)
    covariance = np.diag(measured.shape_variance[some]) + placed + OF_SIZE**2 * np.outer(gap, gap) + bent
    steel, how = made.meridian(batch), made.conditions[batch]
    rim = stage_rim_arc(steel, how, made.measured_bases[batch].stage)
    return ShownCurve(
        steel, how, measured.curve.arc[some], gap, np.linalg.inv(np.linalg.cholesky(covariance)),
        rim if rim < blank_rim_arc(steel, how) else None,
    )  # fmt: skip
