"""A whole correction from a small record book on disk, with a made-up forecast in place of the model."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from decisions_shop import RIM_RADIUS, Field, evidence, forecaster, growing, horn, ring

from springfit.decisions.correction import Correction, correct, correction_of
from springfit.decisions.cut_tables.stations import STATION_COLUMNS
from springfit.decisions.evidence import MandrelEvidence, no_evidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.job import Job, job_from_book
from springfit.decisions.verdict.reasons import SureCut
from springfit.findings import BookError
from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from springfit.geometry.seating import nearest_point
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book
from springfit.reporting.wording.reason_wording import reason_words

TWO_MICRONS = 0.002
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


def test_the_newest_revision_is_the_steel_unless_another_is_named(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path))
    assert job_from_book(book, "T").revision == 1
    old = job_from_book(book, "T", revision=0)
    _, distance = nearest_point(HORN, old.mandrel.z, old.mandrel.r)
    assert np.nanmax(np.abs(distance)) < TWO_MICRONS
    assert (old.tolerance_mm, old.slide_allowance_mm) == (0.05, 0.5)


def test_a_blank_slide_allows_none(tmp_path: Path) -> None:
    assert job(tmp_path, slide="").slide_allowance_mm == 0.0


def test_bells_measured_with_a_bead_mask_it(tmp_path: Path) -> None:
    assert job(tmp_path, stage="beaded").beaded
    plain, beaded = (correction(job(tmp_path, stage=stage)) for stage in ("trimmed", "beaded"))
    assert beaded.case.masks.rim.sum() > plain.case.masks.rim.sum()


@pytest.mark.parametrize("target, what", [("nowhere", "no target 'nowhere'"), ("U", "names no mandrel")])
def test_a_target_that_cannot_be_asked_about_is_named(tmp_path: Path, target: str, what: str) -> None:
    book, _ = read_book(book_on_disk(tmp_path))
    with pytest.raises(BookError) as refused:
        job_from_book(book, target)
    assert what in refused.value.findings[0].line()


def test_the_station_table_says_what_the_contract_says(tmp_path: Path) -> None:
    result = correction(job(tmp_path, slide=""))
    rows = result.stations
    assert result.verdict.verdict == "recut"
    assert tuple(rows.columns) == STATION_COLUMNS
    assert rows.z_mm.is_monotonic_increasing and np.diff(rows.s_mm).max() <= 2.0
    assert rows[["diameter_mm", "cut_now_diameter_mm", "do_not_pass_diameter_mm"]].notna().all().all()
    judged = rows[~rows.masked]
    of_bells = ["bells_error_mm", "bells_sd_mm"]  # none were asked here
    assert judged.drop(columns=of_bells).notna().all().all() and judged[of_bells].isna().all().all()
    parts = judged.error_steel_mm + judged.error_springback_mm + judged.error_unexplained_mm
    assert parts.to_numpy() == pytest.approx(judged.error_mm.to_numpy(), abs=1e-9)
    assert ((judged.error_lo_mm <= judged.error_mm) & (judged.error_mm <= judged.error_hi_mm)).all()
    assert (rows.cut_now_diameter_mm <= rows.present_diameter_mm + 1e-9).all()
    cut = rows[rows.cut_now_diameter_mm < rows.present_diameter_mm - 1e-4]
    assert (cut.do_not_pass_diameter_mm <= cut.cut_now_diameter_mm + 1e-4).all()
    assert (cut.diameter_mm <= cut.do_not_pass_diameter_mm + 1e-4).all()
    assert rows.masked.dtype == bool and set(rows.trust) <= {"inside", "physics_only"}


def test_largest_cut_and_error_are_those_of_the_tables(tmp_path: Path) -> None:
    result = correction(job(tmp_path, slide=""))
    rows = result.stations
    normal = (rows.present_diameter_mm - rows.cut_now_diameter_mm) / 2 * np.cos(rows.slope_rad)
    assert normal[~rows.masked].max() == pytest.approx(
        result.verdict.largest_cut_mm, rel=0.03
    )  # normals turn a little
    worst = rows.loc[rows.error_mm.where(~rows.masked).abs().idxmax()]
    assert worst.error_mm == pytest.approx(result.verdict.largest_error_mm, abs=TWO_MICRONS)
    assert worst.z_mm == pytest.approx(result.verdict.largest_error_at_mm, abs=1.0)
    assert result.cut_table.removal_mm.max() == pytest.approx(result.verdict.largest_cut_mm, abs=0.02)


def test_the_corrected_mandrel_read_back_from_its_table_gives_the_target(tmp_path: Path) -> None:
    predict = forecaster(growing(0.4))
    of = job(tmp_path, slide="")
    rows = correction(of, predict=predict).stations
    again = meridian_from_stations(rows.z_mm.round(4), rows.diameter_mm.round(4), diameter_error=0.0)
    bell = predict(again)
    foot, left = nearest_point(of.target, *bell.bell_point)
    judged = rows.s_mm[~rows.masked]
    inside = (foot > judged.min() + 1.0) & (foot < judged.max() - 1.0)
    assert np.max(np.abs(left[inside])) <= TWO_MICRONS


def test_a_plated_mandrel_is_cut_less_than_a_bare_one_and_a_ratio_overrules_both(tmp_path: Path) -> None:
    bare, plated = (correction(job(tmp_path, slide="", finish=f)) for f in ("bare", "plated_matte"))
    even = correction(job(tmp_path, slide="", finish="plated_matte"), cost_ratio=1.0)
    cuts = [c.verdict.largest_cut_mm for c in (plated, bare, even)]
    assert cuts == sorted(cuts) and cuts[0] < cuts[2]


def test_a_verdict_that_cuts_nothing_leaves_every_size_and_an_empty_cut_table(tmp_path: Path) -> None:
    result = correction(job(tmp_path), predict=forecaster(growing(0.01)))
    assert result.verdict.verdict == "leave"
    assert len(result.cut_table) == 0
    present = result.stations.present_diameter_mm
    pd.testing.assert_series_equal(
        result.stations.cut_now_diameter_mm, present, check_names=False, atol=1e-9, rtol=0
    )
    assert result.corrected_forecast is result.forecast


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


def test_a_revision_without_bells_waits_and_is_compared_with_its_plan(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path, slide="", spun_on="2025-05-01"))
    result = correct(MadeUp(0.4, measured=(0,)), book, "T")
    assert (result.job.revision, result.verdict.verdict) == (1, "wait")
    assert result.as_cut is not None
    # the book's revision 1 took off a ring of 0.05 mm where up to 0.36 mm were planned: shy, not deep
    assert result.as_cut.deepest_mm < 0.06
    found = result.as_cut.rows.found_cut_mm[np.abs(HORN.s[: len(result.as_cut.rows)] - 270.0) < 1.0]
    assert found.to_numpy() == pytest.approx(0.05, abs=0.003)


def test_a_revision_with_bells_is_judged_by_them(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path, slide=""))
    result = correct(MadeUp(0.4, measured=(0, 1)), book, "T")
    assert result.as_cut is None
    assert result.verdict.verdict == "recut"
    assert (result.model_version, result.book_digest) == ("made up", book.digest)


def test_a_mandrel_never_spun_on_asks_for_conditions(tmp_path: Path) -> None:
    folder = book_on_disk(tmp_path)
    for name in ("batches", "bells", "measurements"):
        sheet = folder / f"{name}.csv"
        sheet.write_text(sheet.read_text().splitlines()[0] + "\n")
    book, _ = read_book(folder)
    with pytest.raises(BookError) as refused:
        correct(MadeUp(0.4, measured=()), book, "T")
    assert "conditions file" in refused.value.findings[0].line()
    asked = correct(MadeUp(0.4, measured=()), book, "T", conditions=Conditions("new", "C26000"))
    assert asked.verdict.verdict == "wait"


def test_a_new_flare_gets_the_sizes_of_its_whole_line_left_full(tmp_path: Path) -> None:
    of = job(tmp_path, slide="")
    small = replace(of, mandrel=offset(of.mandrel, -ring(of.mandrel.s, at=290.0, length=40.0, depth=0.12)))
    result = correction(small, predict=forecaster(growing(0.0)))
    assert result.verdict.verdict == "new_flare"
    assert np.array_equal(result.new_line.r, small.mandrel.r)
    table = result.cut_table
    assert table.z_mm.min() < 10.0 and table.z_mm.max() > 290.0
    assert (table.finish_diameter_mm >= table.do_not_pass_diameter_mm).all()
    wanted = np.interp(table.z_mm, of.target.z, 2 * of.target.r)
    assert (table.finish_diameter_mm.to_numpy() > wanted - 1e-3)[table.z_mm < 280.0].all()


def test_the_reason_has_the_numbers_of_the_verdict_and_is_said_in_the_unit_asked_for(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path, slide=""))
    verdict = correct(MadeUp(0.4, measured=(0, 1)), book, "T").verdict
    assert isinstance(verdict.reason, SureCut)
    assert verdict.reason.cut_mm == verdict.largest_cut_mm and verdict.reason.z_mm == verdict.largest_cut_at_mm
    said = reason_words(verdict.reason, "in")
    assert "thou" in said and " mm" not in said
    assert "100 %" not in said


def test_a_frame_of_a_correction_is_its_stations(tmp_path: Path) -> None:
    result = correction(job(tmp_path, slide=""))
    frame = result.to_frame()
    pd.testing.assert_frame_equal(frame, result.stations)
    frame["z_mm"] = 0.0
    assert result.stations.z_mm.max() > 0.0  # a copy: what is done to it is the caller's own
