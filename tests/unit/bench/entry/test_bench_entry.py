"""A sheet in the making: each event counts once, whatever is sent again, torn, stopped or done by two at once."""

from __future__ import annotations

import json
import threading
from pathlib import Path

import pytest

from springfit.bench.entry.bench_sheet import BenchSheet, EventError, applied
from springfit.bench.entry.desk import Desk
from springfit.bench.entry.entry_log import EntryLog
from springfit.bench.entry.entry_place import Place, in_unit
from springfit.bench.entry.sheet_rows import sheet_rows
from tests.helpers.bench_page import bench_events as made
from tests.helpers.bench_page.begun_desk import SHEET, begun


def test_an_event_sent_twice_counts_once(tmp_path: Path) -> None:
    desk = begun(tmp_path, values=0)
    event = made.reading(made.place(), "20.1")
    for _ in range(3):
        sheet = desk.take(SHEET, event)
    assert sheet.values == 1
    lines = (tmp_path / ".springfit-bench" / f"{SHEET}.jsonl").read_text("utf-8").splitlines()
    assert [json.loads(line)["id"] for line in lines].count(event["id"]) == 1


def test_what_was_answered_for_is_there_for_a_new_process(tmp_path: Path) -> None:
    before = begun(tmp_path).sheet(SHEET)
    assert Desk(tmp_path).sheet(SHEET) == before


@pytest.mark.parametrize("left", range(0, 60, 7))
def test_a_torn_line_is_cut_off_and_all_before_it_stand(tmp_path: Path, left: int) -> None:
    desk = begun(tmp_path)
    path = tmp_path / ".springfit-bench" / f"{SHEET}.jsonl"
    whole = path.read_bytes()
    torn = json.dumps(made.reading(made.place(fixed="350"), "30.1")).encode()
    path.write_bytes(whole + torn[:left])
    sheet = Desk(tmp_path).take(SHEET, made.reading(made.place(fixed="370"), "60.2"))
    assert sheet.values == desk.sheet(SHEET).values == 7
    assert Desk(tmp_path).sheet(SHEET) == sheet


def test_a_value_is_replaced_only_by_who_saw_it(tmp_path: Path) -> None:
    desk, there = begun(tmp_path, values=0), made.place()
    first, other, mine = made.reading(there, "20.1"), made.reading(there, "20.9"), made.reading(there, "20.2")
    desk.take(SHEET, first)
    assert desk.take(SHEET, other).readings[there].typed == "20.1", "another tablet did not see the first"
    mine["replaces"] = first["id"]
    assert desk.take(SHEET, mine).readings[there].typed == "20.2"
    assert "20.9" in (tmp_path / ".springfit-bench" / f"{SHEET}.jsonl").read_text("utf-8"), "kept in the log"


def test_two_processes_write_one_log(tmp_path: Path) -> None:
    begun(tmp_path, values=0)
    desks, wrong = [Desk(tmp_path), Desk(tmp_path)], []

    def enter(number: int) -> None:
        try:
            for n in range(40):
                there = made.place(fixed=f"{10 + number + 2 * n}")
                desks[number].take(SHEET, made.reading(there, "20.1"))
        except Exception as failed:
            wrong.append(failed)

    threads = [threading.Thread(target=enter, args=(number,)) for number in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    assert desks[0].sheet(SHEET) == desks[1].sheet(SHEET)
    assert desks[0].sheet(SHEET).values == 80


def test_skipped_and_not_reached_are_no_readings(tmp_path: Path) -> None:
    desk = begun(tmp_path, values=1)
    desk.take(SHEET, made.reading(made.place(fixed="300"), "", outcome="skipped"))
    sheet = desk.take(SHEET, made.reading(made.place(fixed="310"), "", outcome="not_reached"))
    assert len(sheet_rows(sheet)["measurements"]) == 1


def test_a_doubt_that_was_answered_is_kept_with_its_bell(tmp_path: Path) -> None:
    desk = begun(tmp_path, values=0)
    for n, answer in enumerate(("", "stands")):
        there = made.place(fixed=f"{300 + n}")
        sheet = desk.take(SHEET, made.reading(there, made.sound(300 + n), answer=answer))
    assert sheet_rows(sheet)["bells"][0]["note"] == "read again and stands: outside_diameter at 301 mm"


def test_a_ring_is_set_and_its_station_read() -> None:
    ring = made.place(fixed="3-1/2", kind="axial_at_diameter", unit="in")
    sheet = BenchSheet(SHEET)
    for event in (made.start(unit="in"), made.reading(ring, "12-3/8")):
        sheet = applied(sheet, event)
    row = sheet_rows(sheet)["measurements"][0]
    assert (row["z_in"], row["value_in"]) == ("12-3/8", "3-1/2")


@pytest.mark.parametrize(
    ("typed", "unit", "wanted", "written"),
    [("2-3/8", "in", "in", "2-3/8"), ("1.5", "thou", "in", "0.0015"), ("0", "thou", "in", "0"),
     ("0.25", "in", "thou", "250"), ("1.5", "thou", "mm", "0.0381")],
)  # fmt: skip
def test_what_was_typed_is_written_word_for_word_or_exactly(
    typed: str, unit: str, wanted: str, written: str
) -> None:
    assert in_unit(typed, unit, wanted) == written


@pytest.mark.parametrize(
    "wrong",
    [
        {"id": "short", "what": "bell"},
        {"id": "x" * 65, "what": "bell"},
        {"id": 12345678, "what": "bell"},
        {"what": "bell", "bell": "B"},
        {"id": "goodgood1", "what": "unheard of"},
        {"id": "goodgood1", "what": "bell", "bell": ""},
        {"id": "goodgood1", "what": "bell", "bell": "B\n1"},
        {"id": "goodgood1", "what": "bell", "bell": "B1", "cells": {"../x": "1"}},
        {"id": "goodgood1", "what": "bell", "bell": "B1", "cells": {"note": "n" * 401}},
        {"id": "goodgood1", "what": "bell", "bell": "B1", "cells": [1]},
        {"id": "goodgood1", "what": "reading", "place": {}, "outcome": "value", "unit": "mm", "typed": "1"},
        {"id": "goodgood1", "what": "reading", "place": {**made.place().as_json(), "unit": "ft"}, "outcome": "value",
         "unit": "mm", "typed": "1"},
        {"id": "goodgood1", "what": "reading", "place": {**made.place().as_json(), "fixed": "x"}, "outcome": "value",
         "unit": "mm", "typed": "1"},
        {"id": "goodgood1", "what": "reading", "place": made.place().as_json(), "outcome": "value", "unit": "mm",
         "typed": ""},
        {"id": "goodgood1", "what": "reading", "place": made.place().as_json(), "outcome": "guessed", "unit": "mm",
         "typed": "1"},
    ],
)  # fmt: skip
def test_what_no_page_sends_changes_nothing(tmp_path: Path, wrong: dict[str, object]) -> None:
    desk = begun(tmp_path)
    before = desk.sheet(SHEET)
    with pytest.raises(EventError):
        desk.take(SHEET, wrong)
    assert desk.sheet(SHEET) == before == Desk(tmp_path).sheet(SHEET)


@pytest.mark.parametrize("name", ["../../etc", "a" * 41, "short", "UPPERCASE1", "with space", "finished/abcdefgh", ""])
def test_a_sheet_has_no_other_place_than_the_desk(tmp_path: Path, name: str) -> None:
    desk = Desk(tmp_path)
    with pytest.raises(EventError):
        desk.take(name, made.start())
    with pytest.raises(KeyError):
        desk.sheet(name)
    assert not desk.reopen(name)
    assert not list(tmp_path.rglob("*.jsonl"))


def test_a_log_that_is_damaged_in_the_middle_keeps_the_rest(tmp_path: Path) -> None:
    before = begun(tmp_path).sheet(SHEET)
    path = tmp_path / ".springfit-bench" / f"{SHEET}.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:4], b"\x00\xff not an event\n", b"[1]\n", *lines[4:]]))
    assert EntryLog(path).sheet() == before


def test_places_are_told_apart_by_all_their_parts() -> None:
    parts = made.place().as_json()
    for name in parts:
        other = {**parts, name: "in" if name == "unit" else f"{parts[name]}1"}
        assert Place(**other) != made.place()
