"""A small record book of one mandrel on disk, and its correction with a made-up forecast in place of the model."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from springfit.decisions.correction import Correction, correction_of
from springfit.decisions.evidence import MandrelEvidence, no_evidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.job import Job, job_from_book
from springfit.geometry.meridian import Meridian, offset
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book
from tests.helpers.corrections.decisions_shop import (
    RIM_RADIUS,
    Field,
    evidence,
    forecaster,
    growing,
    horn,
    ring,
)

HORN = horn()


def book_on_disk(
    folder: Path,
    *,
    finish: str = "bare",
    slide: str = "0.5",
    stage: str = "trimmed",
    spun_on: str = "2025-07-01",
) -> Path:
    """Two revisions of one mandrel, a target equal to the first, one batch with one bell that stands off the first as
    `growing(0.4)` does, read from its witness line over the flare."""
    z, diameter = HORN.z[::8], 2 * HORN.r[::8]
    recut = offset(HORN, -ring(HORN.s, at=270.0, length=60.0, depth=0.05))
    tables = {
        "mandrels": "mandrel_id,revision,in_force_from,finish\n"
        f"M,0,2025-01-01,{finish}\nM,1,2025-06-01,{finish}\n",
        "mandrel_profile": "mandrel_id,revision,z_mm,diameter_mm\n"
        + "".join(f"M,0,{a:.4f},{b:.4f}\n" for a, b in zip(z, diameter, strict=True))
        + "".join(f"M,1,{a:.4f},{b:.4f}\n" for a, b in zip(recut.z[::8], 2 * recut.r[::8], strict=True)),
        "targets": f"target_id,mandrel_id,tolerance_mm,slide_mm\nT,M,0.05,{slide}\nU,,0.05,\n",
        "target_profile": "target_id,z_mm,diameter_mm\n"
        + "".join(f"T,{a:.4f},{b:.4f}\nU,{a:.4f},{b:.4f}\n" for a, b in zip(z, diameter, strict=True)),
        "batches": "batch_id,spun_on,mandrel_id,alloy,wall_mm,draw_end_mm,passes,tool_nose_mm,"
        "blank_rim_mm,finished_rim_mm\n"
        f"B,{spun_on},M,C26000,0.5,200,4,8,125,120\n",
        "bells": "bell_id,batch_id,wall_mm,witness_z_mm\nB1,B,0.5,150\n",
        "measurements": "bell_id,stage,kind,datum,z_mm,value_mm,gauge_id\n" + readings(growing(0.4), stage),
        "gauges": "gauge_id,what,repeatability_mm,station_mm,ball_radius_mm\nG,micrometer,0.005,0.1,0\n",
    }
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


def readings(gap: Field, stage: str) -> str:
    """Outside diameters of a bell of 0.5 mm wall every 10 mm of arc from 30 mm before the flare to its trimmed rim."""
    at = HORN.at(np.arange(120.0, 316.0, 10.0))
    off = gap(at.s) * (1.0 + 0.2 * (np.sin(at.slope) - 0.5)) + 0.5
    z, diameter = at.z - off * np.sin(at.slope), 2 * (at.r + off * np.cos(at.slope))
    rows = zip(z, diameter, strict=True)
    return "".join(f"B1,{stage},outside_diameter,witness,{a:.4f},{b:.4f},G\n" for a, b in rows)


def job(folder: Path, **changes: str) -> Job:
    book, _ = read_book(book_on_disk(folder, **changes))
    return job_from_book(book, "T", revision=0)


def correction(of: Job, **changes: object) -> Correction:
    predict = changes.pop("predict", forecaster(growing(0.4)))
    return correction_of(
        of,
        predict,  # type: ignore[arg-type]
        evidence(),
        conditions=Conditions(name="B", alloy="C26000", finished_rim_mm=2 * RIM_RADIUS),
        model_version="v1",
        book_digest="abc",
        **changes,  # type: ignore[arg-type]
    )


class MadeUp:
    """A shop without a model: a made-up forecast, and evidence only of the revisions named."""

    version = "made up"

    def __init__(self, gap: float, measured: tuple[int, ...]) -> None:
        self.predict, self.measured = forecaster(growing(gap)), measured

    def forecast(self, mandrel: Meridian, conditions: Conditions, *, laid_on: Meridian | None = None) -> Forecast:
        assert conditions.alloy == "C26000"
        return self.predict(mandrel)

    def evidence(self, mandrel_id: str, revision: int, mandrel: Meridian) -> MandrelEvidence:
        return evidence() if revision in self.measured else no_evidence()
