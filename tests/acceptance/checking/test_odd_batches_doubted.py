"""Slips in batches, gauges and file names that `check` used to pass over: each is doubted by its row, with what it may
have been; the sound book and the shops raise none of these doubts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from springfit.demo.locate import demo_folder
from springfit.findings import Finding
from springfit.records.reading import check_book
from tests.helpers.books import small_book
from tests.helpers.books.small_book import Sheets, change

BATCHES = "batches.csv"


def shop() -> Sheets:
    """The small book with six batches on OAK's steel, each with what is usual there, and the walls of its bells."""
    book = small_book.sheets()
    header = (  # noqa: SIM905
        "batch_id,spun_on,mandrel_id,alloy,temper,lot,wall_mm,anneal,draw_end_mm,draw_ring,passes,spindle_rpm,"
        "lubricant,spinner,tool_nose_mm,blank_rim_mm,finished_rim_mm"
    ).split(",")
    days = ["2025-03-01", "2025-03-08", "2025-06-01", "2025-06-11", "2025-06-21", "2025-07-01"]
    rows = [
        [f"B{n}", day, "ASH" if n == 2 else "OAK", "C26000", "OS035", "L7", "0.5", "full", "150", "nylon", "3", "900",
         "tallow", "Ann", "8", "150" if n == 2 else "112", "140" if n == 2 else "100"]
        for n, day in enumerate(days, start=1)
    ]  # fmt: skip
    book[BATCHES] = [header, *rows]
    walls = [[f"B{n}-{k}", f"B{n}", str(k), "", "", ""] for n in (4, 5, 6) for k in (1, 2, 3, 4)]
    book["bells.csv"] = [["bell_id", "batch_id", "order_in_batch", "witness_z_mm", "verdict", "wall_mm"],
                         *(row[:5] + [""] for row in book["bells.csv"][1:]),
                         *(row[:5] + ["0.49"] for row in walls)]  # fmt: skip
    book["gauges.csv"] = [
        ["gauge_id", "what", "repeatability_mm", "station_mm"],
        ["MIC", "outside micrometer", "0.006", "0.1"],
        ["FEEL", "feeler leaves", "0.02", "0.25"],
    ]
    return book


def cell(column: str, new: str, batch: str = "B5", sheet: str = BATCHES) -> Callable[[Sheets], None]:
    key = {"gauges.csv": "gauge_id", "bells.csv": "bell_id"}.get(sheet, "batch_id")
    return lambda book: change(book[sheet], column, lambda _: new, where={key: batch})


# What was done; the row and column of the doubt; what its line says.
SLIPS: dict[str, tuple[Callable[[Sheets], None], str, list[str]]] = {
    "draw end in inches": (cell("draw_end_mm", "5.9"), "batches.csv:6:draw_end_mm", ["typed in inches, 5.9 in?"]),
    "draw end a tenth": (
        cell("draw_end_mm", "50"), "batches.csv:6:draw_end_mm", ["about 150 mm as in the mandrel's other batches"]
    ),
    "a point too few in the draw end": (cell("draw_end_mm", "350"), "batches.csv:6:draw_end_mm", ["about 150 mm"]),
    "33 passes": (cell("passes", "33"), "batches.csv:6:passes", ["passes is 33", "was it 3?"]),
    "speed of five digits": (cell("spindle_rpm", "13000"), "batches.csv:6:spindle_rpm", ["is 13000", "was it 1000?"]),
    "speed tenfold": (cell("spindle_rpm", "9000"), "batches.csv:6:spindle_rpm", ["was it 900?"]),
    "speed a tenth": (cell("spindle_rpm", "90"), "batches.csv:6:spindle_rpm", ["was it 900?"]),
    "nose a tenth": (cell("tool_nose_mm", "0.8"), "batches.csv:6:tool_nose", ["usually 1 to 60 mm"]),
    "nose in another unit": (cell("tool_nose_mm", "50"), "batches.csv:6:tool_nose", ["about 8 mm as in the other"]),
    "finished rim mistyped": (cell("finished_rim_mm", "105"), "batches.csv:6:finished_rim_mm", ["about 100 mm"]),
    "finished rim, figures swapped": (
        lambda book: (
            change(book[BATCHES], "finished_rim_mm", lambda _: "98.5", where={"mandrel_id": "OAK"}),
            cell("finished_rim_mm", "89.5")(book),
        )[-1],
        "batches.csv:6:finished_rim_mm", ["was it 98.5?"],
    ),
    "a day still to come": (cell("spun_on", "2125-06-21"), "batches.csv:6:spun_on", ["still to come", "year"]),
    "the year before": (
        lambda book: (
            change(book["mandrels.csv"], "in_force_from", lambda day: day.replace("2025-01", "2024-01")),
            cell("spun_on", "2024-06-21")(book),
        )[-1],
        "batches.csv:6:spun_on", ["out of the order", "2025-06-11", "revision"],
    ),
    "before the revision was in force": (cell("spun_on", "2025-04-21"), "batches.csv:6:spun_on", ["out of the order"]),
    "wall 0.6 typed for 0.5": (cell("wall_mm", "0.6"), "batches.csv:6:wall_mm", ["0.49 mm (median of 4)"]),
    "wall 0.4 typed for 0.5": (cell("wall_mm", "0.4"), "batches.csv:6:wall_mm", ["another size"]),
    "a bell's wall, figures swapped": (
        cell("wall_mm", "0.94", "B5-2", "bells.csv"), "bells.csv:11:wall_mm", ["about 0.49 mm", "was it 0.49?"]
    ),
    "none known": (cell("draw_ring", "none known"), "batches.csv:6:draw_ring", ["leave the cell blank"]),
    "n/a": (cell("draw_ring", "n/a"), "batches.csv:6:draw_ring", ["'n/a'", "leave the cell blank"]),
    "?": (cell("lot", "?"), "batches.csv:6:lot", ["'?'", "leave the cell blank"]),
    "-": (cell("spinner", "-"), "batches.csv:6:spinner", ["'-'", "leave the cell blank"]),
    "a capital": (cell("lubricant", "Tallow"), "batches.csv:6:lubricant", ["'Tallow' and 'tallow'", "write 'tallow'"]),
    "a letter left out": (cell("lubricant", "talow"), "batches.csv:6:lubricant", ["'talow' and 'tallow'"]),
    "repeatability 25 times too small": (
        cell("repeatability_mm", "0.00024", "MIC", "gauges.csv"), "gauges.csv:2:repeatability_mm", ["another unit"],
    ),
    "repeatability 25 times too large": (
        cell("repeatability_mm", "0.5", "FEEL", "gauges.csv"), "gauges.csv:3:repeatability_mm", ["another unit"],
    ),
    "leaves read by the micrometer": (
        lambda book: change(book["measurements.csv"], "gauge_id", lambda _: "MIC"),
        "measurements.csv:37:gauge_id", ["clearance is read with gauge 'MIC', which is micrometer, and so on in 4"],
    ),
    "diameters read by leaves": (
        lambda book: change(book["measurements.csv"], "gauge_id", lambda _: "FEEL", where={"z_mm": "200"}),
        "measurements.csv:18:gauge_id", ["outside_diameter is read with gauge 'FEEL'", "feeler leaves for clearance"],
    ),
    "station error in inches": (
        cell("station_mm", "0.004", "MIC", "gauges.csv"), "gauges.csv:2:station_mm", ["about 0.2 mm", "another unit"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_each_slip_is_doubted_by_its_row(name: str, tmp_path: Path) -> None:
    spoil, place, words = SLIPS[name]
    book = shop()
    spoil(book)
    found = check_book(small_book.write(tmp_path / "book", book))
    assert not [one for one in found if one.grade == "error"], found
    lines = [one.line() for one in found if one.grade == "doubt" and one.place().startswith(place)]
    assert len(lines) == 1 and all(word in lines[0] for word in words), lines


def test_a_revision_from_a_day_to_come_stops_the_correction(tmp_path: Path) -> None:
    book = shop()
    change(book["mandrels.csv"], "in_force_from", lambda _: "2125-05-01", where={"revision": "1"})
    (doubt,) = (one for one in check_book(small_book.write(tmp_path / "book", book)) if one.stops)
    assert doubt.place() == "mandrels.csv:3:in_force_from" and "--accept OAK" in doubt.remedy


def test_a_bell_s_wall_goes_by_what_was_read_on_it(tmp_path: Path) -> None:
    """Two walls read on the bell say more than its batch; walls of another unit are told, and no witness."""
    book = shop()
    change(book["bells.csv"], "wall_mm", lambda _: "0.59", where={"bell_id": "B5-2"})
    header = book["measurements.csv"][0]
    rows = [["B5-2", "trimmed", "wall", "tail", z, "0.59", "", "MIC"] for z in ("200", "220")]
    book["measurements.csv"] += rows
    assert len(header) == len(rows[0])
    assert not [one for one in check_book(small_book.write(tmp_path / "sound", book)) if one.file == "bells.csv"]
    change(book["bells.csv"], "wall_mm", lambda _: "0.49", where={"bell_id": "B5-2"})
    found = [one for one in check_book(small_book.write(tmp_path / "slip", book)) if one.file == "bells.csv"]
    assert [one.column for one in found] == ["wall_mm"] and "as was read on it" in found[0].expected
    change(book["measurements.csv"], "value_mm", lambda _: "0.0193", where={"bell_id": "B5-2"})
    assert not [one for one in check_book(small_book.write(tmp_path / "inches", book)) if one.file == "bells.csv"]


FILES = ("measurements_b024.csv", "measurements (2).csv", "bells.txt", "batch b024/measurements.csv", "b024.xlsx")


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_is_not_read_is_said_aloud(name: str, tmp_path: Path) -> None:
    folder = small_book.write(tmp_path / "book", shop())
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_bytes((folder / "measurements.csv").read_bytes())
    aloud = [one for one in check_book(folder) if one.grade == "doubt"]
    assert len(aloud) == 1 and name.split("/")[0] in aloud[0].place() and "not read" in aloud[0].what


def _of_these(found: tuple[Finding, ...]) -> list[str]:
    return [one.line() for one in found if one.grade == "doubt" and one.file.split("/")[-1] in (BATCHES, "gauges.csv")]


def test_the_sound_books_are_not_doubted(tmp_path: Path) -> None:
    assert not _of_these(check_book(small_book.write(tmp_path / "book", shop())))
    assert not _of_these(check_book(demo_folder() / "demo-shop"))
