"""`springfit survey` as a maker meets it: files, the target in the book, a mandrel's copy, errors of one line."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pandas as pd
import pytest
from pypdf import PdfReader

from springfit.cli import main
from springfit.records.reading import read_book
from tests.helpers.originals.family_book import family_book, original_sheets
from tests.helpers.originals.original_families import drawn_family

FILES = {
    "target_profile.csv", "specimen_spread.csv", "facets.csv", "specimen_facets.csv", "target.dxf", "survey.html",
    "survey.pdf",
}  # fmt: skip
FAMILY = drawn_family(4)
A4 = (595.3, 841.9)  # [pt]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with a family in it, surveyed, its target added."""
    folder = tmp_path_factory.mktemp("survey")
    family_book(folder / "book", original_sheets(FAMILY.originals))
    asked = ["survey", str(folder / "book"), "--family", "LARK", "--out", str(folder / "out")]
    assert main([*asked, "--store", str(folder / "none"), "--add-target"]) == 0
    return folder


def test_every_file_is_there(folder: Path) -> None:
    assert {path.name for path in (folder / "out").iterdir()} == FILES


def test_the_target_is_in_the_book_as_its_file_has_it(folder: Path) -> None:
    book, findings = read_book(folder / "book")
    z, diameter = book.target_profile_of("LARK-survey")
    written = pd.read_csv(folder / "out" / "target_profile.csv")
    assert z == pytest.approx(written["z_mm"]) and diameter == pytest.approx(written["diameter_mm"])
    assert 0.02 < float(book.targets.set_index("target_id")["tolerance_mm"]["LARK-survey"]) < 0.1
    assert not [one for one in findings if one.grade == "error"]


def test_stations_lie_at_most_2_mm_apart(folder: Path) -> None:
    rows = pd.read_csv(folder / "out" / "target_profile.csv")
    assert np.hypot(np.diff(rows["z_mm"]), np.diff(rows["diameter_mm"]) / 2).max() <= 2.001


def test_facets_are_told_with_the_originals_that_have_them(folder: Path) -> None:
    facets = pd.read_csv(folder / "out" / "facets.csv")
    assert len(facets) == len(FAMILY.facets)
    assert facets["depth_mm"].to_numpy() == pytest.approx(FAMILY.depths, abs=0.02)
    assert set(facets["of"]) == {5} and facets["found_on"].min() >= 3
    each = pd.read_csv(folder / "out" / "specimen_facets.csv")
    assert len(each) == 5 * len(facets) and set(each["there"]) <= {"yes", "not told"}
    sound = each[each["there"] == "yes"]
    assert sound["shift_mm"].abs().max() < 4.0, "a dent beside a facet is no facet that moved"


def test_paper_and_page_name_the_originals_and_the_odd_one(folder: Path) -> None:
    paper = PdfReader(folder / "out" / "survey.pdf")
    assert [float(x) for x in paper.pages[0].mediabox[2:]] == pytest.approx(A4, abs=0.2)
    words = " ".join(page.extract_text() for page in paper.pages)
    page = (folder / "out" / "survey.html").read_text("utf-8")
    for text in (words, page):
        assert all(f"L{number}" in text for number in range(1, 6))
        assert "dent or a worn place" in text and "patch or a bulge" in text
        assert "Blank, trim and bead" in text and "What this cannot tell" in text
    assert "http" not in page.replace("http://www.w3.org", "")


def test_the_drawing_has_the_target(folder: Path) -> None:
    drawing = ezdxf.readfile(folder / "out" / "target.dxf")
    lines = list(drawing.modelspace().query('LWPOLYLINE[layer=="TARGET"]'))
    assert len(lines) == 1
    radius = np.array([point[1] for point in lines[0].get_points("xy")])
    rows = pd.read_csv(folder / "out" / "target_profile.csv")
    assert radius.max() == pytest.approx(rows["diameter_mm"].max() / 2, abs=1e-3)


def test_adding_the_same_target_again_leaves_it_there_once(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["survey", str(folder / "book"), "--family", "LARK", "--out", str(folder / "again"), "--json"]
    assert main([*asked, "--store", str(folder / "none"), "--add-target"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["target_id"] == "LARK-survey" and told["facets"] == len(FAMILY.facets)
    book, _ = read_book(folder / "book")
    assert (book.targets["target_id"] == "LARK-survey").sum() == 1


def test_an_original_of_another_family_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two per cent fatter in the middle than the four others, which have neither dent nor patch."""
    *others, last = drawn_family(4, faults=False).originals
    alien = replace(last, outside=last.outside * (1.0 + 0.02 * np.sin(np.pi * last.z / last.z[-1])))
    family_book(tmp_path / "book", original_sheets((*others, alien)))
    asked = ["survey", str(tmp_path / "book"), "--family", "LARK", "--out", str(tmp_path / "out")]
    assert main([*asked, "--store", str(tmp_path / "none")]) == 0
    told = capsys.readouterr()
    assert any("L5" in line for line in (told.out + told.err).splitlines() if line.startswith(("Odd one", "doubt")))


def test_a_mandrels_revisions_make_the_line_of_a_new_one(folder: Path) -> None:
    out = folder / "copy"
    assert main(["survey", str(folder / "book"), "--mandrel", "OAK", "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == {"new_mandrel.csv", "new_mandrel.dxf", "copy.html", "copy.pdf"}
    line = pd.read_csv(out / "new_mandrel.csv")
    z, diameter = read_book(folder / "book")[0].profile("OAK", 0)
    inside = (z > line["z_mm"].min()) & (z < line["z_mm"].max())
    assert np.interp(z[inside], line["z_mm"], line["diameter_mm"]) == pytest.approx(diameter[inside], abs=0.02)


@pytest.mark.parametrize("asked", [["--family", "WREN"], ["--mandrel", "ELM"]])
def test_what_is_not_there_is_one_line_of_error(
    folder: Path, asked: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["survey", str(folder / "book"), *asked, "--out", str(folder / "nothing")]) == 1
    said = capsys.readouterr().err
    assert asked[1] in said and "expected" in said and "Traceback" not in said
    assert not (folder / "nothing").exists()
