"""A sheet into the book: once, whatever stops it or comes late, and back again."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from springfit.bench.entry.desk import Desk
from springfit.bench.entry.entry_place import Place
from springfit.bench.entry.finishing import finish, take_back
from springfit.findings import BookError
from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made
from tests.helpers.bench_page.begun_desk import SHEET, begun


def test_a_finished_sheet_is_in_the_book_once(tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    desk = begun(book)
    before = read_book(book)[0]
    finish(book, desk, SHEET)
    after = read_book(book)[0]
    assert len(after.measurements) == len(before.measurements) + 6
    assert list(after.bells["bell_id"]).count("B9-1") == 1
    assert not desk.open_sheets()
    new = after.measurements[after.measurements["bell_id"] == "B9-1"]
    assert [f"{value:.3f}" for value in new["value_mm"]] == [made.sound(60.0 + 40 * n) for n in range(6)]


def test_stopped_between_the_book_and_its_note_it_adds_nothing_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = made.small(tmp_path / "book")
    desk = begun(book)
    with monkeypatch.context() as patch:
        patch.setattr(Desk, "take", lambda *_: (_ for _ in ()).throw(RuntimeError("power cut")))
        with pytest.raises(RuntimeError):
            finish(book, desk, SHEET)
    added = read_book(book)[0].digest
    again = Desk(book)
    assert [sheet.sheet_id for sheet in again.open_sheets()] == [SHEET]
    finish(book, again, SHEET)
    assert read_book(book)[0].digest == added
    assert not again.open_sheets()


def test_what_is_taken_back_is_open_again(tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    desk, before = begun(book), read_book(book)[0].digest
    finish(book, desk, SHEET)
    _, opened = take_back(book, desk)
    assert (opened, read_book(book)[0].digest) == (SHEET, before)
    assert desk.sheet(SHEET).values == 6
    finish(book, desk, SHEET)
    assert (read_book(book)[0].measurements["bell_id"] == "B9-1").sum() == 6


def test_a_value_that_comes_late_opens_the_sheet_again(tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    desk = begun(book)
    finish(book, desk, SHEET)
    desk.take(SHEET, made.reading(made.place(fixed="340"), made.sound(340)))
    assert [sheet.values for sheet in desk.open_sheets()] == [7]
    done = finish(book, desk, SHEET)
    assert done.added == {"measurements": 1}
    assert (read_book(book)[0].measurements["bell_id"] == "B9-1").sum() == 7


def test_a_value_that_comes_in_while_it_is_finished_keeps_it_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from springfit.bench.entry import finishing

    book = made.small(tmp_path / "book")
    desk, add = begun(book), finishing.add_sheets

    def slowly(*arguments: object, **more: object) -> object:
        desk.take(SHEET, made.reading(made.place(fixed="340"), made.sound(340)))
        return add(*arguments, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(finishing, "add_sheets", slowly)
    finish(book, desk, SHEET)
    monkeypatch.undo()
    assert [sheet.values for sheet in desk.open_sheets()] == [7]
    finish(book, desk, SHEET)
    assert (read_book(book)[0].measurements["bell_id"] == "B9-1").sum() == 7


def test_a_sheet_that_the_book_refuses_stays_as_it_is(tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    desk = begun(book)
    desk.take(SHEET, made.reading(made.place(fixed="4000"), "20.1"))
    before = read_book(book)[0].digest
    with pytest.raises(BookError):
        finish(book, desk, SHEET)
    assert read_book(book)[0].digest == before
    assert desk.sheet(SHEET).values == 7


def test_a_mandrel_goes_into_an_empty_book(tmp_path: Path) -> None:
    from springfit.records.editing.starting import new_book

    book = new_book(tmp_path / "empty", units="in")
    desk = Desk(book)
    cells = {"mandrel_id": "M1", "in_force_from": "2025-01-01", "finish": "bare"}
    desk.take(SHEET, {"id": made.event_id(), "what": "start", "kind": "mandrel", "subject": "M1", "unit": "in",
                      "cells": cells})  # fmt: skip
    for n in (3, 1, 0, 2, 4, 5, 6, 7, 8):
        there = Place("M1", "", "steel", "tail", str(n), "in")
        desk.take(SHEET, made.reading(there, f"{0.5 + 0.05 * n:.3f}"))
    finish(book, desk, SHEET)
    z, diameter = read_book(book)[0].profile("M1", 0)
    assert list(z / 25.4) == pytest.approx(range(9))
    assert isinstance(read_book(book)[0].mandrels, pd.DataFrame) and diameter[0] == pytest.approx(12.7)
