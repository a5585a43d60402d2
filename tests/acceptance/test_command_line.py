"""The command line as a maker types it: bad input ends with 1 and its reason in place, wrong usage with 2.

Each case runs a whole command in this process, on a small sound book with one thing wrong, and looks at what it
said, what it returned and what it left on disk: no traceback, and nothing half-written.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from small_book import Sheets, drawn, sheets, write
from spoilers import Spoil, cell, header, more, second_column, without, without_column

import springfit
from springfit.cli import main

COMMANDS = ("check", "new", "add", "undo", "show", "train", "predict", "correct", "survey", "watch", "bench", "demo")
B, M = "batches.csv", "measurements.csv"
REPORT = {
    "verdict.json",
    "corrected_mandrel.csv",
    "bells.csv",
    "card.pdf",
    "cut_table.csv",
    "facets.csv",
    "corrected_mandrel.dxf",
    "correction.html",
    "correction.pdf",
}
# Spun as the book's own first batch: what is asked so is laid already.
CONDITIONS = "name,alloy,temper,wall_mm,anneal,passes,tool_nose_mm,blank_rim_mm,finished_rim_mm,draw_end_mm\n"


@dataclass(frozen=True)
class Trained:
    """A sound book, and a store that has learned it."""

    book: Path
    store: Path


@dataclass(frozen=True)
class Ran:
    """What a command returned and said."""

    code: int
    said: str
    reasons: list[str]


Run = Callable[..., Ran]


@pytest.fixture(scope="module")
def trained(tmp_path_factory: pytest.TempPathFactory) -> Trained:
    folder = tmp_path_factory.mktemp("trained")
    book, store = write(folder / "book", drawn(sheets())), folder / "store"
    assert main(["train", str(book), "--store", str(store)]) == 0
    return Trained(book, store)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command; every case is held to saying no traceback."""

    def ran(*arguments: object) -> Ran:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        assert "Traceback" not in captured.out + captured.err
        return Ran(code, captured.out, [line for line in captured.err.splitlines() if line.strip()])

    return ran


def only(file: str, text: str) -> Spoil:
    """A file with nothing but `text`."""

    def spoil(book: Sheets) -> None:
        book[file] = [[text]] if text else []

    return spoil


# What is wrong, where it must be named, and a word of the reason. A blank place: the file as a whole.
BAD_BOOKS: dict[str, tuple[Spoil, str, str]] = {
    "missing table": (without("bells.csv"), "bells", "bells"),
    "missing column": (without_column(B, "alloy"), "batches.csv:1:alloy", "alloy"),
    "two units for one quantity": (second_column(M, "z_in", "1"), "measurements.csv:1:z_in", "two units"),
    "a length without a unit": (header(M, "z_mm", "z"), "measurements.csv:1:z", "no unit"),
    "text in a number": (cell(M, 5, "value_mm", "abc"), "measurements.csv:5:value_mm", "'abc'"),
    "duplicate key": (more("bells.csv", "B1-1", "B1", "3", "", "", ""), "bells.csv:6:bell_id", "B1-1"),
    "unknown mandrel": (cell(B, 3, "mandrel_id", "ELM"), "batches.csv:3:mandrel_id", "'ELM'"),
    "bell without batch": (cell("bells.csv", 3, "batch_id", ""), "bells.csv:3:batch_id", "blank"),
    "bell of no known batch": (cell("bells.csv", 3, "batch_id", "B9"), "bells.csv:3:batch_id", "'B9'"),
    "station past the steel": (cell(M, 5, "z_mm", "430"), "measurements.csv:5:z_mm", "past the steel"),
    "empty file": (only(M, ""), "measurements.csv", "empty"),
}


@pytest.mark.parametrize("case", BAD_BOOKS)
def test_a_bad_book_is_refused_in_place(case: str, trained: Trained, tmp_path: Path, run: Run) -> None:
    spoil, place, word = BAD_BOOKS[case]
    spoiled = sheets()
    spoil(spoiled)
    book, store, out = write(tmp_path / "book", spoiled), tmp_path / "store", tmp_path / "out"
    refused = (
        run("train", book, "--store", store),
        run("correct", book, "--target", "OAK-T", "--store", trained.store, "--out", out),
    )
    for done in refused:
        assert done.code == 1
        assert any(line.startswith(place) and word in line and "expected" in line for line in done.reasons), (
            done.reasons
        )
    assert not store.exists() and not out.exists()
    checked = run("check", book)
    assert checked.code == 1 and place in checked.said


@pytest.mark.parametrize("command", ["check", "train", "correct", "add"])
def test_what_is_no_book_is_named(command: str, trained: Trained, tmp_path: Path, run: Run) -> None:
    pictures, plain, absent = tmp_path / "pictures", tmp_path / "notes.txt", tmp_path / "absent"
    pictures.mkdir()
    (pictures / "lathe.jpg").write_bytes(b"\xff\xd8")
    plain.write_text("bells: see the drawer")
    book = trained.book
    before = {path.name: path.read_bytes() for path in book.iterdir() if path.suffix == ".csv"}
    # A folder without sheets is nothing to add, and said to be that.
    for place in (plain, absent) if command == "add" else (pictures, plain, absent):
        words: dict[str, list[object]] = {
            "check": [place],
            "train": [place, "--store", tmp_path / "store"],
            "correct": [place, "--target", "T", "--store", trained.store, "--out", tmp_path / "out"],
            "add": [book, place],
        }
        done = run(command, *words[command])
        told = done.said if command == "check" else "\n".join(done.reasons)
        assert done.code == 1
        assert place.name in told or "mandrels" in told, told
    assert {path.name for path in tmp_path.iterdir()} == {"pictures", "notes.txt"}
    assert [path.name for path in pictures.iterdir()] == ["lathe.jpg"]
    assert {path.name: path.read_bytes() for path in book.iterdir() if path.suffix == ".csv"} == before


def test_a_missing_store_is_named(trained: Trained, tmp_path: Path, run: Run) -> None:
    store, out = tmp_path / "nowhere", tmp_path / "out"
    done = run("correct", trained.book, "--target", "OAK-T", "--store", store, "--out", out)
    assert done.code == 1
    (reason,) = done.reasons
    assert str(store) in reason and "springfit train" in reason
    assert not store.exists() and not out.exists()


@pytest.mark.parametrize(
    ("file", "damage", "said"),
    [
        ("model.json", "{", "no springfit model"),
        ("model.json", "", "no springfit model"),
        ("model.json", "[]", "no springfit model"),
        ("model.json", "{}", "no springfit model"),
        ("model.json", '{"format": "springfit model 1"}', "older than this program reads"),
        ("arrays.npz", "PK", "no springfit model"),
        ("arrays.npz", "", "no springfit model"),
    ],
)
def test_a_damaged_model_is_named(
    file: str, damage: str, said: str, trained: Trained, tmp_path: Path, run: Run
) -> None:
    store, out = tmp_path / "store", tmp_path / "out"
    shutil.copytree(trained.store, store)
    (version,) = store.glob("v*")
    (version / file).write_text(damage)
    done = run("correct", trained.book, "--target", "OAK-T", "--store", store, "--out", out)
    assert done.code == 1
    (reason,) = done.reasons
    assert str(version) in reason and said in reason
    assert not out.exists()


def test_a_model_that_is_not_there_is_named(trained: Trained, tmp_path: Path, run: Run) -> None:
    store = tmp_path / "store"
    shutil.copytree(trained.store, store)
    (store / "in_use.json").write_text('{"version": "v0099"}')
    done = run("correct", trained.book, "--target", "OAK-T", "--store", store, "--out", tmp_path / "out")
    assert done.code == 1 and "v0099" in done.reasons[0]
    assert not (tmp_path / "out").exists()


def test_an_unknown_target_is_named_with_those_there_are(trained: Trained, tmp_path: Path, run: Run) -> None:
    out = tmp_path / "out"
    done = run("correct", trained.book, "--target", "OAK-X", "--store", trained.store, "--out", out)
    assert done.code == 1
    (reason,) = done.reasons
    assert "'OAK-X'" in reason and "OAK-T" in reason
    assert not out.exists()


BAD_CONDITIONS = {
    "unknown alloy": (CONDITIONS + "one,C99999,OS035,0.5,full,3,8,112,100,320\n", ":2:alloy", "C26000"),
    "alloy of the second row": (
        CONDITIONS + "one,C26000,OS035,0.5,full,3,8,112,100,320\ntwo,C11111,OS035,0.5,full,3,8,112,100,320\n",
        ":3:alloy",
        "C26000",
    ),
    "text in a number": (CONDITIONS + "one,C26000,OS035,thick,full,3,8,112,100,320\n", ":2:wall_mm", "'thick'"),
    "unknown anneal": (CONDITIONS + "one,C26000,OS035,0.5,twice,3,8,112,100,320\n", ":2:anneal", "full"),
    "missing column": ("name,alloy\none,C26000\n", ":1:wall", "wall"),
    "nothing in it": ("", "", "empty"),
    "no rows": (CONDITIONS, "", "row"),
}


@pytest.mark.parametrize("case", BAD_CONDITIONS)
def test_bad_conditions_are_refused_in_place(case: str, trained: Trained, tmp_path: Path, run: Run) -> None:
    text, place, word = BAD_CONDITIONS[case]
    conditions, out = tmp_path / "conditions.csv", tmp_path / "out"
    conditions.write_text(text)
    profile = _draft(tmp_path, trained)
    for done in (
        run("predict", profile, "--conditions", conditions, "--store", trained.store, "--out", out),
        run(
            *("correct", trained.book, "--target", "OAK-T", "--conditions", conditions),
            *("--store", trained.store, "--out", out),
        ),
    ):
        assert done.code == 1, done.said
        assert any(f"conditions.csv{place}" in line and word in line for line in done.reasons), done.reasons
    assert not out.exists()


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("z_mm,diameter_mm\n0,12\n20,thick\n", "draft.csv:3:diameter_mm"),
        ("z_mm,diameter_mm\n0,12\n20,13\n", "draft.csv"),
        ("z_mm\n0\n20\n", "draft.csv:1:diameter"),
        ("z_mm,diameter_mm,z_in\n0,12,0\n20,13,1\n", "draft.csv:1:z_in"),
        ("", "draft.csv"),
    ],
)
def test_a_bad_draft_is_refused_in_place(
    text: str, place: str, trained: Trained, tmp_path: Path, run: Run
) -> None:
    draft, conditions, out = tmp_path / "draft.csv", tmp_path / "conditions.csv", tmp_path / "out"
    draft.write_text(text)
    conditions.write_text(CONDITIONS + "one,C26000,OS035,0.5,full,3,8,112,100,320\n")
    done = run("predict", draft, "--conditions", conditions, "--store", trained.store, "--out", out)
    assert done.code == 1
    assert any(line.startswith(place) and "expected" in line for line in done.reasons), done.reasons
    assert not out.exists()


def test_a_place_that_cannot_be_written_is_named(trained: Trained, tmp_path: Path, run: Run) -> None:
    taken = tmp_path / "taken"
    taken.write_text("a file, not a folder")
    done = run("correct", trained.book, "--target", "OAK-T", "--store", trained.store, "--out", taken)
    assert done.code == 1 and "taken" in done.reasons[0]
    assert taken.read_text() == "a file, not a folder"


def test_problems_come_as_json_too(tmp_path: Path, run: Run) -> None:
    spoiled = sheets()
    cell(M, 5, "value_mm", "abc")(spoiled)
    done = run("train", write(tmp_path / "book", spoiled), "--store", tmp_path / "store", "--json")
    assert done.code == 1
    text = json.dumps(json.loads(done.said))
    assert M in text and "value_mm" in text and "abc" in text


def test_a_sound_book_goes_all_the_way(trained: Trained, tmp_path: Path, run: Run) -> None:
    """So that the refusals above are of what is wrong, not of everything."""
    out, conditions = tmp_path / "out", tmp_path / "conditions.csv"
    done = run("correct", trained.book, "--target", "OAK-T", "--store", trained.store, "--out", out, "--json")
    assert done.code == 0
    assert {path.name for path in out.iterdir()} == REPORT
    verdict = json.loads((out / "verdict.json").read_text())
    assert json.loads(done.said)["verdict"] == verdict["verdict"]
    conditions.write_text(CONDITIONS + "one,C26000,OS035,0.5,full,3,8,112,100,320\n")
    done = run(
        *("predict", _draft(tmp_path, trained), "--conditions", conditions),
        *("--store", trained.store, "--out", tmp_path / "told"),
    )
    assert done.code == 0
    assert {path.name for path in (tmp_path / "told").iterdir()} == {"predicted_bell.csv", "prediction.html"}


def test_several_conditions_are_compared_with_the_first(trained: Trained, tmp_path: Path, run: Run) -> None:
    """In the terminal, on the page and in a table, which a later prediction of one row does not leave behind."""
    conditions, out = tmp_path / "conditions.csv", tmp_path / "told"
    usual, other = ("one,C26000,OS035,0.5,full,3,8,112,100,320\n", "hard,C26000,OS035,0.5,none,3,8,112,100,320\n")
    asked = ("predict", _draft(tmp_path, trained), "--conditions", conditions, "--store", trained.store, "--out", out)
    conditions.write_text(CONDITIONS + usual + other + usual.replace("one", "again"))
    done = run(*asked)
    assert done.code == 0 and "hard against one: rim" in done.said and "again against one: rim the same" in done.said
    told = pd.read_csv(out / "predicted_bell.csv").set_index(["name", "s_mm"])["gap_mm"]
    differs = pd.read_csv(out / "differences.csv").set_index(["name", "s_mm"])
    expected = told["hard"] - told["one"]
    np.testing.assert_allclose(differs.loc["hard", "difference_mm"], expected, atol=2e-4)  # of printed digits
    assert (differs.loc["again", ["difference_mm", "difference_lo_mm", "difference_hi_mm"]] == 0.0).all(axis=None)
    assert "Compared with one" in (out / "prediction.html").read_text(encoding="utf-8")
    conditions.write_text(CONDITIONS + usual)
    assert run(*asked).code == 0
    assert {path.name for path in out.iterdir()} == {"predicted_bell.csv", "prediction.html", "earlier"}
    assert next((out / "earlier").glob("*/differences.csv"))


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["weld"],
        ["check"],
        ["correct", "book"],
        ["predict", "draft.csv"],
        ["train", "book", "--speed", "9"],
        ["check", "book", "--units", "cm"],
        ["correct", "book", "--target", "T", "--cost-ratio", "-1"],
        ["correct", "book", "--target", "T", "--cost-ratio", "much"],
        ["correct", "book", "--target", "T", "--skive", "0"],
    ],
    ids=" ".join,
)
def test_wrong_usage_ends_with_two(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    assert "usage: springfit" in capsys.readouterr().err


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help_is_everywhere(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([*command.split(), "--help"])
    assert ended.value.code == 0
    said = capsys.readouterr().out
    assert said.startswith(f"usage: springfit {command}".rstrip())
    if not command:
        assert set(re.findall(r"^    (\w+) ", said, re.MULTILINE)) == set(COMMANDS)


def test_a_process_of_its_own_says_the_same(tmp_path: Path) -> None:
    """Once as a shop runs it: exit code, reason on standard error, no traceback, the version."""
    call = [sys.executable, "-m", "springfit.cli"]
    done = subprocess.run([*call, "train", "nowhere"], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 1
    assert done.stderr.startswith("nowhere") and "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []
    version = subprocess.run([*call, "--version"], capture_output=True, text=True, check=True)
    assert version.stdout.strip() == f"springfit {springfit.__version__}"


def _draft(folder: Path, trained: Trained) -> Path:
    """A draft mandrel: the first one of the sound book, as drawn."""
    draft = folder / "draft.csv"
    rows = (trained.book / "mandrel_profile.csv").read_text().splitlines()
    first = [line.split(",")[2:] for line in rows if line.startswith(("mandrel_id", "OAK,0"))]
    draft.write_text("\n".join(",".join(row) for row in first) + "\n")
    return draft


@pytest.mark.parametrize(
    "words", [["new", "a\0b"], ["check", "a\0b"], ["train", "b", "--store", "a\0b"], ["check", "b", "--out", "\0"]]
)
def test_a_zero_byte_is_wrong_usage(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert "zero byte" in capsys.readouterr().err
