"""Six mandrels ranked for an original that is right for one of them."""

from __future__ import annotations

import numpy as np

from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.seating import slid
from springfit.survey.mandrels.ranking import ranked
from tests.helpers.originals.facet_lines import FAIR, Line

TOLERANCE = 0.04  # [mm]


def meridian_of(line: Line) -> Meridian:
    return Meridian(line.s, line.z, line.r, line.slope, line.curvature)


def flared_share(slope: np.ndarray) -> np.ndarray:
    """The part of a bell that flares: none up to 5 degrees, all from 20 on, smoothly between."""
    x = np.clip((np.degrees(slope) - 5) / 15, 0, 1)
    return x * x * (3 - 2 * x)


def ranked_first(seeds: int) -> int:
    """How often the right one of six is ranked first."""
    first = 0
    for seed in range(seeds):
        draw = np.random.default_rng([seed, 66])
        line = meridian_of(FAIR["bessel"](draw))
        target = slid(_wandering(line, draw, 0.01), draw.normal())
        bells = {
            "right": _wandering(line, draw, 0.01),
            "big": offset(line, 0.15 * flared_share(line.slope)),
            "small": offset(line, -0.10 * flared_share(line.slope)),
            "dished": offset(line, -0.12 * np.exp(-(((line.s - 0.8 * line.length) / 15.0) ** 2))),
            "cousin": meridian_of(FAIR["bessel"](draw)),
            "other": meridian_of(FAIR["exponential"](draw)),
        }
        first += ranked(target, bells, tolerance=TOLERANCE)[0].mandrel_id == "right"
    return first


def _wandering(line: Meridian, draw: np.random.Generator, sd: float) -> Meridian:
    """The line with slow waves of that size."""
    u = line.s / line.length
    waves = sum(draw.standard_normal() * np.cos(np.pi * k * u) for k in (1, 2, 3))
    return offset(line, sd * np.asarray(waves) / np.sqrt(1.5))
