"""`show` prints a batch, a bell, a mandrel, a target or the shop in a screenful."""

from __future__ import annotations

from pathlib import Path

import pytest

from springfit.cli import main
from springfit.demo.locate import demo_folder
from springfit.records.reading import read_book
from springfit.records.telling.showing import SCREENFUL
from tests.helpers.books import small_book


def said(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = main([str(argument) for argument in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


@pytest.fixture(name="book")
def a_book(tmp_path: Path) -> Path:
    return small_book.write(tmp_path / "book", small_book.sheets())


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        ("B1", ["batch B1", "passes 3", "not known: lot",
                "B1-1: wall ?, good; 35 outside_diameter, 1 wall, 1 clearance"]),
        ("B1-2", ["bell B1-2", "34 readings", "clearance from tail, gauge FEEL: 1 readings", "11.811: 0.00118"]),
        ("OAK", ["mandrel OAK", "revision 1", "finish plated_matte", "batches: B3", "target OAK-T"]),
        ("OAK-T", ["target OAK-T", "tolerance 0.0019685 in", "21 stations"]),
    ],
)
def test_each_is_shown(book: Path, name: str, parts: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "show", book, name, "--units", "in")
    assert code == 0 and all(part in out for part in parts), out


def test_the_shop(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "show", book)
    assert code == 0 and "mandrel OAK: revision 1, 2 batches, last B3 on 2025-06-01" in out


def test_a_name_that_is_not_there(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = said(capsys, "show", book, "B1-3")
    assert code == 1 and "no 'B1-3'" in err and "B1-1" in err


def test_nothing_takes_more_than_a_screen(capsys: pytest.CaptureFixture[str]) -> None:
    shop = demo_folder() / "demo-shop"
    book, _ = read_book(shop)
    names = [None, book.batches["batch_id"][0], book.bells["bell_id"][0], "WREN", "WREN-bell"]
    for name in names:
        code, out, _ = said(capsys, "show", shop, *([name] if name else []))
        assert code == 0 and len(out.splitlines()) <= SCREENFUL
        assert all(len(line) <= 200 for line in out.splitlines())
