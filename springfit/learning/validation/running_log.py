"""The running log: what each version said of batches before it learned them, beside what was then measured.

Promotion rests on it. Of every new batch the version in use has said what it expected; the version that learned it
says what it would have expected with that batch left out. The new version is taken into use unless its words were
worse: the difference of mean log density a batch, beyond what so few batches can tell.
"""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.stats import t as student

from springfit.findings import BookError, Finding
from springfit.learning.fit import Fit
from springfit.learning.model import SpringModel
from springfit.learning.validation.leaving_out import measured_curve
from springfit.normal_errors import BAND_LEVEL

__all__ = ["LOG", "HeldAgainst", "Told", "judged", "log_text", "read_log", "told_of"]

LOG = "forecast_log.csv"
# How far log densities of two sound versions differ by batch, and its weight in batches: half a nat is a band wider by
# two thirds, or a forecast off by one standard deviation; assumed.
USUAL_NATS, PSEUDO = 0.5, 3.0
# Standard errors of a normal mean that it exceeds to one side once in twenty: the end of a 90 % band by arithmetic, but
# no band is stated here
ONE_IN_TWENTY = 1.645


@dataclass(frozen=True)
class Told:
    """What a version said of a batch it had not learned: rms and worst error [mm] over the flare, the share of it
    inside the 90 % band of the batch's mean, and the mean log density of what was measured [ln 1/mm]."""

    batch_id: str
    version: str
    rms_mm: float
    worst_mm: float
    inside_band: float
    log_score: float


@dataclass(frozen=True)
class HeldAgainst:
    """A new version, each of so many new `batches` left out, beside what the version `before` said of them: rms of
    both [mm]; by how much the mean log density of a batch is better [ln], and the noise of that mean [ln]."""

    batches: int
    rms_mm: float
    before_mm: float
    before: str
    better: float
    noise: float

    @property
    def worse(self) -> bool:
        """Whether the new version is worse by more than so few batches can differ by chance."""
        return self.better + self.noise < 0


def told_of(model: SpringModel, fit: Fit, batch: str) -> Told:
    """What `model` says of a batch of `fit`, beside what its bells then showed there."""
    shown, made = measured_curve(fit, batch).curve, fit.experience
    told = model.gap(made.meridian(batch), made.conditions[batch], stage=made.measured_bases[batch].stage)
    error = np.interp(shown.arc, told.arc, told.gap) - shown.gap
    spread = np.hypot(np.interp(shown.arc, told.arc, told.mean_sd), shown.gap_sd)
    density = student.logpdf(error / spread, told.freedom) - np.log(spread)
    inside = np.abs(error) <= student.ppf(0.5 + BAND_LEVEL / 2, told.freedom) * spread
    return Told(
        batch, model.version, round(float(np.sqrt(np.mean(error**2))), 4), round(float(np.max(np.abs(error))), 4),
        round(float(np.mean(inside)), 3), round(float(np.mean(density)), 3),
    )  # fmt: skip


def judged(before: Sequence[Told], after: Sequence[Told]) -> HeldAgainst:
    """How forecasts `after` of the same batches, each left out, stand beside those `before`."""
    better = np.array([b.log_score - a.log_score for a, b in zip(before, after, strict=True)])
    count, mean = len(better), float(np.mean(better))
    spread = (PSEUDO * USUAL_NATS**2 + np.sum((better - mean) ** 2)) / (PSEUDO + count - 1)
    room = ONE_IN_TWENTY * float(np.sqrt(spread / count))
    old, new = (float(np.sqrt(np.mean([one.rms_mm**2 for one in told]))) for told in (before, after))
    return HeldAgainst(count, new, old, before[0].version, mean, room)


def read_log(folder: Path) -> tuple[Told, ...]:
    """What was logged so far; BookError naming the file when it is no such log."""
    path = folder / LOG
    if not path.is_file():
        return ()
    names = [field.name for field in dataclasses.fields(Told)]
    try:
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
        if not rows or rows[0] != names:
            raise ValueError(f"its columns are {', '.join(rows[0]) if rows else 'none'}")
        return tuple(Told(one[0], one[1], *map(float, one[2:6])) for one in rows[1:])
    except (OSError, ValueError, TypeError) as failed:
        what, remedy = f"this is no log of forecasts: {failed}", "move it away; a new one is begun"
        raise BookError([Finding("error", str(path), None, None, what, ", ".join(names), remedy)]) from None


def log_text(logged: Sequence[Told], told: Sequence[Told]) -> str:
    """The log with what is not in it yet, as text; what a version said of a batch stands in it once."""
    known = {(one.batch_id, one.version) for one in logged}
    rows = (*logged, *(one for one in told if (one.batch_id, one.version) not in known))
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow([field.name for field in dataclasses.fields(Told)])
    lines.writerows(dataclasses.astuple(one) for one in rows)
    return text.getvalue()
