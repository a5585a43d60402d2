"""By taps alone, in a real browser: from an empty book to a correction report, and a batch like the last in a few."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

from springfit.records.editing.starting import new_book
from springfit.records.reading import read_book
from tests.helpers.bench_page.bench_browser import Taps, browser, serving
from tests.helpers.repository import DEMO

STATIONS = range(0, 11)
LEARNING = 600.0  # seconds for a first book to be learned where other tests take the processor


def steel(z: float) -> float:
    """Diameter [in] of an invented mandrel at z [in]."""
    return 0.5 + 4.0 * math.exp((z - 10.0) / 1.6)


def outside(z: float, bell: int = 1) -> float:
    """Outside diameter [in] of its bell: wall 0.020, springback growing to 6 thou a side at the rim, hands apart."""
    slope = math.atan(4.0 / 1.6 * math.exp((z - 10.0) / 1.6) / 2)
    return steel(z) + 2 * (0.020 + 0.006 * (z / 10.0) ** 4) / math.cos(slope) + 0.0007 * math.sin(3 * z + 5 * bell)


def fill(taps: Taps, label: str, choice: str) -> None:
    """Answers one field of a form."""
    taps.tap(label)
    taps.tap(choice, within="details[open]:not([data-done])")
    taps.driver.execute_script("document.querySelectorAll('details[open]').forEach((one) => { one.open = false; })")


def numbers(taps: Taps, name: str, number: str) -> None:
    """Types a number into a field of its own by the keys under it."""
    taps.driver.find_element("name", name).click()
    taps.driver.execute_script("document.activeElement.select()")
    taps.type(number, pad=True)


def into_the_book(taps: Taps) -> None:
    """Finishes a sheet."""
    taps.tap("Finish: into the book")
    taps.tap("Put it in the book")
    taps.see("It is in the book")
    taps.tap("To the shop")
    taps.see("Mandrels")


def test_from_an_empty_book_to_a_correction_report_by_taps_alone(tmp_path: Path) -> None:
    book = new_book(tmp_path / "book", units="in")
    driver = browser(tmp_path / "profile")
    try:
        with serving(book, "--store", str(tmp_path / "models")) as server:
            driver.get(server.address)
            taps = Taps(driver)
            _mandrel(taps)
            _gauge(taps)
            _wanted_bell(taps)
            _batch(taps)
            taps.tap("Learn the book")
            taps.see("Nothing was learned yet", LEARNING)
            taps.tap("Learn the book", within="main")
            taps.see("Learning the book: done.", LEARNING)
            taps.see("The model has learned every measured batch")
            taps.tap("The shop")
            taps.tap("M1")
            taps.tap("Work out the report")
            taps.see("Report on M1-bell: done.", LEARNING)
            taps.tap("The shop")
            taps.tap("M1")
            taps.tap("Report")
            taps.see("M1-bell")
            assert driver.execute_script("return document.querySelectorAll('svg').length") >= 1
            assert not _foreign(driver, server.address)
    finally:
        driver.quit()
    assert (book / "reports" / "M1-bell" / "verdict.json").is_file()
    read, _ = read_book(book)
    assert (len(read.bells), len(read.measurements)) == (2, 2 * len(STATIONS))
    typed = read.measurements["value_mm"].to_numpy() / 25.4
    assert list(typed.round(4)) == [round(outside(z, bell), 4) for bell in (1, 2) for z in STATIONS]


def _mandrel(taps: Taps) -> None:
    taps.tap("New mandrel")
    taps.see("In use from")
    taps.tap("bare")
    taps.tap("The rest is not written down")
    taps.tap("Keep, and begin to measure")
    taps.see("its stations")
    numbers(taps, "to", "10")
    taps.tap("1", within=".choose")
    taps.tap("Begin")
    for z in STATIONS:
        taps.value(f"{steel(z):.4f}")
    into_the_book(taps)


def _gauge(taps: Taps) -> None:
    taps.tap("New gauge")
    taps.see("How well it repeats")
    for choice in ("dial caliper", "0.5 thou", "4 thou"):
        taps.tap(choice)
    taps.tap("The rest is not written down")
    taps.tap("Keep the gauge")
    taps.see("Mandrels")


def _wanted_bell(taps: Taps) -> None:
    taps.tap("M1")
    taps.tap("New wanted bell")
    taps.see("Tolerance")
    taps.tap("2 thou")
    taps.tap("0.02")
    taps.tap("Keep, and begin to measure")
    taps.tap("As the mandrel stands")
    taps.tap("Put it in the book")
    taps.see("It is in the book")
    taps.tap("To the shop")


def _batch(taps: Taps) -> None:
    taps.tap("New batch")
    taps.see("New batch on M1")
    for label, choice in (("Alloy", "C26000"), ("Temper", "OS035"), ("Sheet", "0.020"), ("Anneal", "full"),
                          ("Forward passes", "3"), ("Radius of the tool", "3/8")):  # fmt: skip
        fill(taps, label, choice)
    taps.tap("Drawing stops at")
    numbers(taps, "draw_end-typed", "8")
    taps.tap("The rest is not written down")
    taps.tap("Keep, and begin to measure")
    taps.see("Which bell?")
    for bell in (1, 2):
        taps.tap("New bell" if bell == 1 else "Next bell")
        if bell == 1:
            taps.tap("Another way")
            for choice in ("Outside diameter", "From the tail", "Trimmed", "G1", "0°"):
                taps.tap(choice)
            taps.tap("Begin")
        else:
            taps.see("how is it measured")
            taps.tap("As just now")
        for z in STATIONS:
            taps.value(f"{outside(z, bell):.4f}")
            assert "Read again?" not in taps.text(), taps.text()
    into_the_book(taps)


def _foreign(driver: object, address: str) -> list[str]:
    """Addresses outside the shop that the page asked for."""
    asked = driver.execute_script("return performance.getEntries().map((one) => one.name)")  # type: ignore[attr-defined]
    return [one for one in asked if one.startswith("http") and not one.startswith(address)]


def test_a_batch_like_the_last_takes_a_few_taps(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "book")
    driver = browser(tmp_path / "profile")
    try:
        with serving(tmp_path / "book") as server:
            driver.get(server.address)
            taps = Taps(driver)
            taps.see("Mandrels")
            taps.tap("WREN")
            taps.tap("New batch")
            taps.see("New batch on WREN")
            taps.tap("Keep, and begin to measure")
            if "Still to say" in taps.text():
                taps.tap("The rest is not written down")
                taps.tap("Keep, and begin to measure")
            taps.see("Which bell?")
            # Two minutes are given: at two seconds a tap, sixty.
            assert taps.count <= 6
            sheets = list((tmp_path / "book" / ".springfit-bench").glob("*.jsonl"))
            assert len(sheets) == 1 and '"alloy":"C26000"' in sheets[0].read_text("utf-8")
    finally:
        driver.quit()
