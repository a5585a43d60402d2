"""Gaps of bells that slid, swelled or were passed back over, and a verdict's reason in words."""

from __future__ import annotations

import numpy as np

from springfit.decisions.evidence import Fault
from springfit.decisions.verdict.questions import Verdict
from springfit.reporting.wording.length_wording import Units
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.corrections.decisions_shop import horn, ring

HALF_A_THOU = 0.013  # mm: how far a fault elsewhere may move a recommendation
WORTH_CUTTING = 0.025  # mm
SEEDS = 100
HORN = horn()


def said(verdict: Verdict, units: Units = "mm") -> str:
    """The reason of a verdict in words."""
    return reason_words(verdict.reason, units)


def slid_gap(slide: float):
    """The gap of a bell that only slid: -slide sin(slope)."""
    return lambda s: -slide * np.sin(HORN.at(np.clip(s, 0.0, HORN.length)).slope)


def shape(s: np.ndarray) -> np.ndarray:
    """A swelling of the inner flare that no slide explains."""
    return ring(s, at=240.0, length=120.0, depth=0.25)


def throat_hump(size: float = 0.4, faulty: int = 4) -> Fault:
    """A back-pass hump in some of ten bells."""
    bells = tuple(f"B{i}" for i in range(faulty))
    return Fault(bells, 10, 130.0, 170.0, size)
