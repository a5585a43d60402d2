"""What a fit leaves of the readings: the noise of each gauge, faults, swellings past the draw end."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.learning.data.observations import Bell
from springfit.learning.faults.back_pass import BackPassHump, FaultyStretch
from springfit.learning.faults.fault_search import LocalFault, faults_of
from springfit.learning.faults.screening import explained
from springfit.learning.fit import Fit
from springfit.learning.regression.hierarchy import local_jacobian

__all__ = ["back_pass_stretches", "faults_found", "noise_scale", "sound_though_passed_back"]

Floats = NDArray[np.float64]

NOISE_RANGE = (0.7, 3.0)  # how far a gauge's own noise may lie from what its row states: seldom thrice as far; assumed
# Rows that a bell's own unknowns take: its seat, wall, two shares and a third of its remainder, priors hold the rest;
# and the least share of its residuals that is left then, for of few rows the priors leave more; both assumed
OWN_UNKNOWNS, LEAST_SPARE = 8.0, 0.3
STATED_ROWS = 50.0  # rows that what a gauge's row states counts as beside those that were read; assumed


def faults_found(fit: Fit, candidates: tuple[Bell, ...]) -> tuple[LocalFault, ...]:
    """What springback as fitted cannot explain, bell by bell."""
    made = fit.experience
    found: list[LocalFault] = []
    for bell in candidates:
        found.extend(
            faults_of(bell, explained(bell, made.columns, fit.coefficients(bell.batch_id), fit.lead.spreads))
        )
    return tuple(found)


def _residuals(fit: Fit, bell: Bell, index: int) -> Floats:
    """Readings less all that the fit says of them, (n,) [mm]; `index` of the bell in the summaries."""
    columns = fit.summaries.columns
    design = bell.design
    k = fit.coefficients(bell.batch_id)
    local = local_jacobian(columns, k) @ fit.lead.posterior.bell_mean[index]
    return bell.gap - design[:, : columns.shared] @ k - design @ local


def noise_scale(fit: Fit) -> dict[str, float]:
    """Noise of each gauge beside what its row states: root mean square of standardised residuals, the bells' own
    unknowns allowed for, towards 1 where there are few rows."""
    squares: dict[str, list[float]] = {}
    for index, bell in enumerate(fit.experience.bells):
        standard = _residuals(fit, bell, index) ** 2 / bell.variance
        spare = max(LEAST_SPARE, 1.0 - OWN_UNKNOWNS / len(standard))
        for number, session in enumerate(bell.sessions):
            of_place = (bell.session == number) & (bell.springs > 0)
            squares.setdefault(session.gauge_id, []).extend(standard[of_place] / spare)
    return {
        gauge: float(np.clip(np.sqrt((STATED_ROWS + np.sum(values)) / (STATED_ROWS + len(values))), *NOISE_RANGE))
        for gauge, values in squares.items()
    }


def back_pass_stretches(fit: Fit) -> list[FaultyStretch]:
    """The faulty stretches of batches that had passes toward the tail."""
    made = fit.experience
    index = {bell: i for i, bell in enumerate(fit.summaries.bell_ids)}
    raw = {bell.bell_id: bell for bell in made.raw}
    stretches = []
    for fault in fit.faults:
        if not fault.swelling or fault.bell_id not in index or not made.conditions[fault.batch_id].back_passes:
            continue
        bell = raw[fault.bell_id]
        inside = (bell.arc > fault.arc_from) & (bell.arc < fault.arc_to)
        rest = _residuals(fit, bell, index[fault.bell_id])[inside]
        past = bell.arc[inside] - made.draw_end_arc(fault.batch_id)
        stretches.append(FaultyStretch(fault.batch_id, past, rest))
    return stretches


def sound_though_passed_back(fit: Fit) -> int:
    """Count of bells that were passed toward the tail and show no swelling, though they were read where one sits."""
    made = fit.experience
    faulty = {fault.bell_id for fault in fit.faults if not fault.alone}
    return sum(
        bool(made.conditions[bell.batch_id].back_passes)
        and bell.bell_id not in faulty
        and _read_there(bell.arc - made.draw_end_arc(bell.batch_id), fit.hump)
        for bell in made.bells
    )


def _read_there(past_draw: Floats, hump: BackPassHump) -> bool:
    """Whether two readings or more lie within the width of the swelling: one could be a slip."""
    return int(np.sum(np.abs(past_draw - hump.place) < hump.width)) >= 2
