"""The pages: self-contained, escaped, the same words and digits as the files beside them."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pandas as pd
import pytest

from springfit.learning.coverage import CoverageNote
from springfit.reporting import write_correction, write_prediction
from tests.helpers.corrections.reporting_example import example_correction, example_forecast

Report = Callable[[str, str], Path]  # by verdict and unit

HOSTILE = "<script>alert('x')</script>&\"{{ 7*7 }}"
VERDICTS = {
    "leave": "LEAVE",
    "slide": "SLIDE",
    "process": "FIX THE PROCESS",
    "wait": "WAIT",
    "recut": "RECUT",
    "new_flare": "NEW FLARE",
}


class Reader(HTMLParser):
    """Collects tags, their addresses, and the text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.words: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("href", "xlink:href", "src", "srcset", "action", "data", "poster") and value:
                self.addresses.append(value)
            if name == "id" and value:
                self.ids.append(value)

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def read(path: Path) -> Reader:
    reader = Reader()
    reader.feed(path.read_text("utf-8"))
    return reader


def test_the_pages_fetch_nothing(tmp_path: Path, example_report: Report):
    write_prediction([example_forecast(), example_forecast(name="closed")], tmp_path, units="mm")
    for page in (example_report("recut", "in") / "correction.html", tmp_path / "prediction.html"):
        text, reader = page.read_text("utf-8"), read(page)
        assert all(address.startswith("#") for address in reader.addresses)
        assert not re.search(r"https?:|//[a-z]|@import|@font-face|url\((?!#)", text)
        assert not {"script", "iframe", "link", "img", "object"} & set(reader.tags)
        assert len(reader.ids) == len(set(reader.ids))  # two pictures of a page do not share an id
        assert {address[1:] for address in reader.addresses} <= set(reader.ids)


def test_an_id_that_looks_like_a_tag_is_text(tmp_path: Path):
    noted = (CoverageNote("nearest", (HOSTILE,)),)
    write_correction(example_correction(mandrel_id=HOSTILE, notes=noted), tmp_path, units="mm")
    write_prediction([example_forecast(name=HOSTILE)], tmp_path, units="mm")
    for name in ("correction.html", "prediction.html"):
        reader = read(tmp_path / name)
        assert "script" not in reader.tags
        assert HOSTILE in "".join(reader.words)


@pytest.mark.parametrize("verdict", VERDICTS)
def test_each_verdict_is_said_large(example_report: Report, verdict: str):
    text = (example_report(verdict, "in") / "correction.html").read_text("utf-8")
    assert f'<div class="word">{VERDICTS[verdict]}</div>' in text
    assert ("Do not cut" in text) == (verdict != "recut")


def test_page_one_says_units_diameters_and_sides(example_report: Report):
    words = " ".join("".join(read(example_report("recut", "in") / "correction.html").words).split())
    assert "inches" in words and "Sizes are DIAMETERS, error and removal are PER SIDE, square to the surface" in words
    assert words.count("Usual lathe cautions") == 1
    assert "Steel taken off cannot be put back." in words


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_cut_table_of_the_page_is_the_file(example_report: Report, units: str):
    out = example_report("recut", units)
    file = pd.read_csv(out / "cut_table.csv", dtype=str)
    shown = [word.strip() for word in read(out / "correction.html").words]
    for column in (f"z_{units}", f"finish_diameter_{units}"):
        assert set(file[column]) <= set(shown)


def test_stations_have_the_columns_of_the_contract_in_their_order(example_report: Report):
    header = (example_report("recut", "in") / "corrected_mandrel.csv").read_text().splitlines()[0]
    assert header == (
        "z_in,diameter_in,cut_now_diameter_in,do_not_pass_diameter_in,present_diameter_in,target_diameter_in,error_in,"
        "error_steel_in,error_springback_in,error_unexplained_in,error_lo_in,error_hi_in,masked"
    )


def test_predicted_bells_have_the_columns_of_the_contract(tmp_path: Path):
    forecast = example_forecast()
    write_prediction([forecast, example_forecast(name="closed")], tmp_path, units="mm")
    frame = pd.read_csv(tmp_path / "predicted_bell.csv")
    assert list(frame.columns) == [
        "name",
        "s_mm",
        "z_mm",
        "mandrel_diameter_mm",
        "gap_mm",
        "gap_mean_lo_mm",
        "gap_mean_hi_mm",
        "gap_bell_lo_mm",
        "gap_bell_hi_mm",
        "shape_mm",
        "bell_z_mm",
        "bell_diameter_mm",
        "trust",
    ]
    first = frame[frame.name == "as last time"]
    assert abs(first.gap_mm.iloc[-1] - forecast.gap[-1]) <= 0.5e-4
    assert (first.gap_bell_lo_mm <= first.gap_mean_lo_mm).all() and (
        first.gap_mean_hi_mm <= first.gap_bell_hi_mm
    ).all()


def test_nothing_is_written_when_a_page_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def broken(*_: object, **__: object) -> str:
        raise RuntimeError("no page")

    monkeypatch.setattr("springfit.reporting.output_files.correction_page", broken)
    with pytest.raises(RuntimeError, match="no page"):
        write_correction(example_correction(), tmp_path / "out", units="mm")
    assert not (tmp_path / "out").exists()


def test_no_forecast_is_said_and_nothing_is_written(tmp_path: Path):
    with pytest.raises(ValueError, match="expected at least one row of conditions"):
        write_prediction([], tmp_path / "out", units="mm")
    assert not (tmp_path / "out").exists()


def test_a_correction_with_nothing_to_judge_is_still_written(tmp_path: Path):
    correction = example_correction(verdict="wait")
    blank = {name: float("nan") for name in correction.stations if name.startswith(("error", "target"))}
    correction.stations = correction.stations.assign(masked=True, **blank)
    correction.verdict.largest_error_mm, correction.verdict.largest_error_at_mm = 0.0, float("nan")
    paths = write_correction(correction, tmp_path, units="in")
    assert sorted(path.name for path in paths) == [
        "bells.csv",
        "card.pdf",
        "corrected_mandrel.csv",
        "corrected_mandrel.dxf",
        "correction.html",
        "correction.pdf",
        "cut_table.csv",
        "facets.csv",
        "verdict.json",
    ]
    assert all(path.stat().st_size > 0 for path in paths)
