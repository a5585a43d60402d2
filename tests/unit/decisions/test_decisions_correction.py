"""A whole correction from a small record book on disk, with a made-up forecast in place of the model."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.cut_tables.stations import STATION_COLUMNS
from springfit.decisions.job import job_from_book
from springfit.findings import BookError
from springfit.geometry.meridian import meridian_from_stations, offset
from springfit.geometry.seating import nearest_point
from springfit.records.reading import read_book
from tests.helpers.corrections.decisions_shop import forecaster, growing, ring
from tests.helpers.corrections.shop_on_disk import HORN, book_on_disk, correction, job

TWO_MICRONS = 0.002


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


def test_a_frame_of_a_correction_is_its_stations(tmp_path: Path) -> None:
    result = correction(job(tmp_path, slide=""))
    frame = result.to_frame()
    pd.testing.assert_frame_equal(frame, result.stations)
    frame["z_mm"] = 0.0
    assert result.stations.z_mm.max() > 0.0  # a copy: what is done to it is the caller's own
