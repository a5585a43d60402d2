"""The reports of the demo shop's own targets: every file, the same digits in each, nothing off the page.

The forecast is the mechanics before any bell; what the bells have shown is made up, so that steel is cut.
"""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pandas as pd
import pytest
from pypdf import PdfReader

from springfit.decisions.correction import Correction, correct
from springfit.decisions.learned_shop import LearnedShop
from springfit.learning.experience import experience_of
from springfit.learning.fitting import fit_model
from springfit.records.book import Book
from springfit.records.part import part_of
from springfit.records.reading import read_book
from springfit.reporting import write_correction
from springfit.reporting.figures.bell_figures import correction_picture
from springfit.reporting.figures.images import as_png
from springfit.reporting.pages.correction_summary import summarise
from springfit.reporting.pages.pdf import correction_paper
from tests.helpers.corrections.paper_reading import clashes, line_boxes, off_the_page
from tests.helpers.corrections.report_files import REPORT_FILES
from tests.helpers.repository import DEMO

NEWEST = 2  # batches of each: every one more is seconds of laying
READ = ("WREN", "HERON")  # a recut and a slide; the others, never read, are told to wait
QUICK = ("WREN-bell", "HERON-bell", "TEAL-bell")
# The rest by hand: a report whose new line is laid anew takes most of a minute.
REST = ("CURLEW-bell", "PLOVER-bell", "BITTERN-bell")
SLOW = tuple(pytest.param(name, marks=pytest.mark.benchmark) for name in REST)
POINTS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
MM_PER_UNIT = {"mm": 1.0, "in": 25.4}
TWO_MICRONS = 0.002


@cache
def shop() -> tuple[LearnedShop, Book]:
    """The demo's book with the readings of two of its mandrels, and what is learned of those."""
    book, findings = read_book(DEMO)
    spun = book.batches[book.batches["mandrel_id"].isin(READ)].sort_values("spun_on")
    batches = spun.groupby("mandrel_id").tail(NEWEST)["batch_id"]
    bells = book.bells[book.bells["batch_id"].isin(batches)]["bell_id"]
    book = replace(book, measurements=book.measurements[book.measurements["bell_id"].isin(bells)])
    fit = fit_model(experience_of(part_of(book, list(batches)), findings))
    assert fit is not None
    return LearnedShop(fit.model("told")), book


@cache
def correction(target: str, ratio: float = 1.0) -> Correction:
    told, book = shop()
    return correct(told, book, target, cost_ratio=ratio)


@pytest.mark.parametrize(
    ("target", "units"),
    [  # one target in both units, the others of the quick ones in that of their shop
        *((name, "in") for name in QUICK), (QUICK[0], "mm"),
        *(pytest.param(name, "mm", marks=pytest.mark.benchmark) for name in QUICK[1:]),
        *(pytest.param(name, units, marks=pytest.mark.benchmark) for name in REST for units in ("in", "mm")),
    ],
)  # fmt: skip
def test_every_file_is_written_and_says_the_same(tmp_path: Path, target: str, units: str) -> None:
    done, millimetres = correction(target), MM_PER_UNIT[units]
    assert {path.name for path in write_correction(done, tmp_path, units=units)} == REPORT_FILES

    stations = pd.read_csv(tmp_path / "corrected_mandrel.csv")
    z, cut = stations[f"z_{units}"], stations[f"cut_now_diameter_{units}"]
    assert (np.diff(z) > 0).all()
    np.testing.assert_allclose(z * millimetres, done.stations.z_mm, atol=TWO_MICRONS)

    verdict = json.loads((tmp_path / "verdict.json").read_text("utf-8"))
    assert verdict["verdict"] == done.verdict.verdict
    largest = stations.loc[~stations.masked, f"error_{units}"].abs().max() * millimetres
    assert largest <= abs(verdict[f"largest_error_{units}"]) * millimetres + TWO_MICRONS

    drawing = ezdxf.read(io.StringIO((tmp_path / "corrected_mandrel.dxf").read_text("utf-8")))
    lines = drawing.modelspace().query('LWPOLYLINE[layer=="CUT_NOW"]')
    points = np.concatenate([line.get_points("xy") for line in lines])
    off = np.interp(z, points[:, 0], points[:, 1]) - cut / 2.0
    assert (off * np.cos(done.stations.slope_rad)).abs().max() * millimetres < TWO_MICRONS  # along the normal

    words = " ".join(page.extract_text() for page in PdfReader(tmp_path / "correction.pdf").pages[1:]).split()
    printed = np.array([float(word) for word in words if word.replace(".", "", 1).isdigit()])
    told = ten_values(tmp_path, done, units)
    assert len(told) == 10
    last_digit = {"mm": 1e-3, "in": 1e-4}[units]
    assert all(np.min(np.abs(printed - value)) < 0.6 * last_digit for value in told)


def ten_values(out: Path, done: Correction, units: str) -> list[float]:
    """Five places and five sizes from the CSV files that paper prints: of the cut, or of the table of errors."""
    if len(done.cut_table):
        table = pd.read_csv(out / "cut_table.csv")
        chosen = table.iloc[np.unique(np.linspace(0, len(table) - 1, 5).round().astype(int))]
        return [*chosen[f"z_{units}"], *chosen[f"finish_diameter_{units}"]]
    judged = pd.read_csv(out / "corrected_mandrel.csv").query("not masked")
    places = [float(row[0]) for row in summarise(done, units=units).tables.errors.rows][::2]
    chosen = judged.loc[[(judged[f"z_{units}"] - z).abs().idxmin() for z in places]]
    return [*chosen[f"z_{units}"], *chosen[f"present_diameter_{units}"]]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("target", [*QUICK, *SLOW])
def test_nothing_overlaps_or_leaves_the_page(target: str, paper: str) -> None:
    done = correction(target)
    summary = summarise(done, units="in")
    picture = as_png(correction_picture(done, units="in"), dots_per_inch=50)
    pages = PdfReader(io.BytesIO(correction_paper(summary, picture=picture, paper=paper))).pages
    assert 2 <= len(pages) <= 4
    for page in pages:
        boxes = line_boxes(page)
        assert not off_the_page(boxes, POINTS[paper])
        assert not clashes(boxes)
    first = " ".join(pages[0].extract_text().split())
    assert first.index(summary.word) < first.index(summary.one_way) < first.index(summary.cautions)


def test_these_reports_are_of_several_kinds() -> None:
    assert [correction(target).verdict.verdict for target in QUICK] == ["recut", "slide", "wait"]
    assert len(correction("WREN-bell").cut_table) > 0
