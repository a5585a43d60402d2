"""The PDF: pages of the right size and number, and the digits of the CSV files in its text."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pandas as pd
import pytest
from pypdf import PdfReader

from springfit.learning.coverage import CoverageNote
from springfit.reporting.figures.bell_figures import correction_picture
from springfit.reporting.figures.images import as_png
from springfit.reporting.pages.correction_summary import Summary, summarise
from springfit.reporting.pages.pdf import correction_paper
from tests.helpers.corrections.paper_reading import clashes, line_boxes, off_the_page
from tests.helpers.corrections.reporting_example import example_correction

POINTS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}


def pages(data: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(data)).pages]


@cache
def picture() -> bytes:
    return as_png(correction_picture(example_correction(), units="mm"), dots_per_inch=50)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_ten_values_on_paper_are_those_of_the_file(example_report: Callable[[str, str], Path], units: str):
    out = example_report("recut", units)
    words = pages((out / "correction.pdf").read_bytes())[1].split()
    table = pd.read_csv(out / "cut_table.csv", dtype=str)
    values = [
        table[f"{name}_{units}"][row]
        for row in (0, 3, 7, 12, len(table) - 1)
        for name in ("z", "finish_diameter")
    ]
    assert len(values) == 10
    assert not [value for value in values if value not in words]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("verdict", ["leave", "slide", "process", "wait", "recut", "new_flare"])
def test_two_to_four_pages_of_the_right_size(paper: str, verdict: str):
    summary = summarise(example_correction(verdict=verdict), units="in")
    reader = PdfReader(io.BytesIO(correction_paper(summary, picture=picture(), paper=paper)))
    assert 2 <= len(reader.pages) <= 4
    for page in reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            POINTS[paper], abs=0.1
        )
    first = " ".join(reader.pages[0].extract_text().split())
    assert summary.word in first and summary.one_way in first and summary.cautions in first
    assert all(" ".join(number.value.split()) in first for number in summary.numbers)
    assert f"page 1 of {len(reader.pages)}" in first


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("verdict", ["recut", "process", "leave"])
def test_no_line_runs_over_another_or_into_the_margin(paper: str, verdict: str):
    summary = summarise(example_correction(verdict=verdict, mandrel_id="WREN-A-LONG-NAME"), units="in")
    reader = PdfReader(io.BytesIO(correction_paper(summary, picture=picture(), paper=paper)))
    for page in reader.pages:
        boxes = line_boxes(page)
        assert len(boxes) > (20 if page is not reader.pages[-1] else 5)  # the last page holds what was left over
        assert not off_the_page(boxes, POINTS[paper])
        assert not clashes(boxes)


def test_a_long_story_still_ends_page_one_with_the_one_way_line():
    limits = tuple(
        f"At z {row} the forecast reaches past what the recorded bells cover. " * 3 for row in range(12)
    )
    summary = with_fields(
        summarise(example_correction(), units="in"), limits=limits, reason="Long reason. " * 30
    )
    read = pages(correction_paper(summary, picture=picture(), paper="letter"))
    assert summary.one_way in read[0] and summary.cautions in read[0]
    assert "More on the last page" in read[0]
    assert limits[-1].strip() in " ".join(read[1:])


@pytest.mark.parametrize(("rows", "cut_pages"), [(45, 1), (90, 2), (110, 2)])
def test_the_longest_cut_table_stays_within_four_pages(rows: int, cut_pages: int):
    table = example_correction().cut_table
    long = pd.concat([table] * 4, ignore_index=True).head(rows)
    long["step"] = range(1, rows + 1)
    noted = (CoverageNote("nearest", ("NOTE 1",) * 17),) * 4  # said alike, so said once
    summary = summarise(example_correction(cut_table=long, notes=noted), units="mm")
    read = pages(correction_paper(summary, picture=picture(), paper="letter"))
    assert len(read) <= 4
    headed = [page for page in read if "Ø finish" in page]
    assert headed == read[1 : 1 + cut_pages]  # the head stands again where the table goes on
    assert f" {rows} flare" in headed[-1]


def test_an_id_with_markup_and_far_letters_is_printed_as_it_is():
    name = "<b>Žluť & Ωmega</b> $x$"
    summary = summarise(example_correction(mandrel_id=name), units="mm")
    read = pages(correction_paper(summary, picture=picture(), paper="a4"))
    assert name in read[0]


def test_a_long_id_does_not_run_into_the_page_count():
    summary = summarise(example_correction(mandrel_id="WREN-" * 40), units="mm")
    read = pages(correction_paper(summary, picture=picture(), paper="letter"))
    assert "… page 1 of" in read[0]


def test_the_same_summary_gives_the_same_bytes():
    summary = summarise(example_correction(), units="mm")
    first, second = (correction_paper(summary, picture=picture(), paper="a4") for _ in range(2))
    assert first == second


def with_fields(summary: Summary, **fields: object) -> Summary:
    return Summary(**({**vars(summary)} | fields))
