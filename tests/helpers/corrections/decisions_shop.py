"""A made-up mandrel and made-up forecasts for the tests of decisions: nothing here is learned or mechanical.

The bell follows the horn r = b (x + x0)^-gamma, gamma = 0.7 [Smyth & Scott, "Trombone synthesis by model and
measurement"], a fair flare; gaps are plain functions of arc length, so the wanted answers are known
beforehand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.need.inverse import mandrel_for
from springfit.decisions.need.masking import find_masks
from springfit.decisions.need.split import split_error
from springfit.decisions.verdict.questions import Case
from springfit.geometry.meridian import Meridian, offset
from tests.helpers.corrections.forecast_parts import parts_of
from tests.helpers.corrections.made_meridians import meridian_from_arc, trim_at_rim

FloatArray = NDArray[np.float64]
Field = Callable[[FloatArray], FloatArray]

GAMMA, SCALE, MOUTH = 0.7, 470.0, 17.26  # of the horn, mm
RIM_RADIUS = 60.0  # where the bell is trimmed; the blank's rim is 64 mm
TOLERANCE, ALLOWANCE = 0.05, 0.5


def horn() -> Meridian:
    """A mandrel 300 mm long, 8.3 mm in radius at the tail, 64 mm at the blank rim, sloping 69 deg there."""
    x = np.linspace(300.0, 0.0, 6001)
    r = SCALE * (x + MOUTH) ** -GAMMA
    s = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(r)))))
    slope = np.arctan(GAMMA * SCALE * (x + MOUTH) ** (-GAMMA - 1.0))
    even = np.linspace(0.0, s[-1], int(s[-1] / 0.5) + 1)
    return meridian_from_arc(even, np.interp(even, s, slope), z0=0.0, r0=float(r[0]))


def growing(rim_gap: float) -> Field:
    """A gap that grows from nothing at mid-length to `rim_gap` near the rim and is not a slide in shape."""
    return lambda s: rim_gap * np.clip((s - 150.0) / 180.0, 0.0, None) ** 1.5


def forecaster(gap: Field, *, sd: float = 0.004, freedom: float = 30.0) -> Callable[[Meridian], Forecast]:
    """A forecast whose gap follows arc length and, weakly, the slope, as springback follows the shape."""

    def predict(mandrel: Meridian) -> Forecast:
        bell = trim_at_rim(mandrel, RIM_RADIUS).resampled(1.0)
        field = gap(bell.s) * (1.0 + 0.2 * (np.sin(bell.slope) - 0.5))
        level = sd * (0.1 + 0.9 * bell.s / bell.length)
        shape_sd, place, place_sd = parts_of(bell.slope, field, level)
        return Forecast(
            name="made up",
            meridian=bell,
            arc=bell.s,
            gap=field,
            mean_sd=level,
            bell_sd=1.5 * level,
            shape_sd=shape_sd,
            place=place,
            place_sd=place_sd,
            axial=np.zeros(bell.s.size),
            freedom=freedom,
            trust=("inside",) * bell.s.size,
            notes=(),
        )

    return predict


def evidence(*, batches: int = 5, scatter: float = 0.004, **more: object) -> MandrelEvidence:
    """Ten sound bells in five alike batches, nothing unexplained, unless said otherwise."""
    s = np.linspace(0.0, 330.0, 34)
    plain = MandrelEvidence(
        batches, 2 * batches, scatter, batches - 1.0, (), s, np.zeros(s.size), np.full(s.size, 0.002)
    )
    return replace(plain, **more)  # type: ignore[arg-type]


def ring(s: FloatArray, *, at: float, length: float, depth: float) -> FloatArray:
    """A raised-cosine ring of `depth` [mm], `length` [mm of arc] long."""
    return np.where(np.abs(s - at) < length / 2, depth * np.cos(np.pi * (s - at) / length) ** 2, 0.0)


def case(
    predict: Callable[[Meridian], Forecast],
    known: MandrelEvidence,
    *,
    steel: FloatArray | float = 0.0,
    target: Meridian | None = None,
    ratio: float = 10.0,
    allowance: float = ALLOWANCE,
    tolerance: float = TOLERANCE,
) -> Case:
    """A case for `decide`: the steel stands `steel` [mm, normal] proud of the horn, which is the target."""
    wanted = horn() if target is None else target
    mandrel = offset(horn(), steel)
    faults = [fault for fault in known.habits if abs(fault.size_mm) > tolerance]
    forecast = predict(mandrel)
    masks = find_masks(mandrel, wanted, rim_mm=forecast.meridian.length, faults=faults)
    return Case(
        mandrel=mandrel,
        inverse=mandrel_for(wanted, mandrel, predict, open_rows=masks.open),
        split=split_error(mandrel, wanted, forecast, known),
        masks=masks,
        evidence=known,
        tolerance_mm=tolerance,
        slide_allowance_mm=allowance,
        cost_ratio=ratio,
    )
