"""An old version asked by name gives the report it gave, byte for byte, whatever was learned since."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from springfit.demo.locate import demo_folder
from tests.helpers.books.books_to_add import batch_b3
from tests.helpers.books.small_book import DRAWN, drawn, sheets, write

FILES = {
    "correct": {"correction.html", "correction.pdf", "verdict.json", "corrected_mandrel.csv", "cut_table.csv",
                "bells.csv", "card.pdf", "facets.csv", "corrected_mandrel.dxf"},
    "predict": {"prediction.html", "predicted_bell.csv", "differences.csv"},
}  # fmt: skip


RUN = "import json, sys\nfrom springfit.cli import main\nsys.exit(any(main(one) for one in json.loads(sys.argv[1])))"


def springfit(*commands: tuple[object, ...], seed: int) -> None:
    """Commands in a process of their own, whose hashes of text are its own too."""
    # a report is dated: by the clock, unless this says otherwise, as for any file that is to be made again
    date = {"SOURCE_DATE_EPOCH": "1748858400"}
    surroundings = {**os.environ, **date, "PYTHONHASHSEED": str(seed), "OMP_NUM_THREADS": "1"}
    told = json.dumps([[str(argument) for argument in command] for command in commands])
    done = subprocess.run([sys.executable, "-c", RUN, told], env=surroundings, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def without_last_batch(book: Path) -> None:
    """Take the batch spun last, and its bells and readings, out of a copy of the demo's book."""
    batches = (book / "batches.csv").read_text(encoding="utf-8").splitlines()
    day = batches[0].split(",").index("spun_on")
    last = max(batches[1:], key=lambda line: line.split(",")[day])
    (book / "batches.csv").write_text(
        "\n".join(line for line in batches if line != last) + "\n", encoding="utf-8"
    )
    name = last.split(",")[0]
    bells = (book / "bells.csv").read_text(encoding="utf-8").splitlines()
    gone = {line.split(",")[0] for line in bells[1:] if line.split(",")[1] == name}
    for path in book.glob("*.csv"):
        if path.name == "bells.csv" or path.name.startswith("measurements"):
            lines = path.read_text(encoding="utf-8").splitlines()
            kept = [line for line in lines if line.split(",")[0] not in gone]
            path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    assert gone


def written(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def small_shop(folder: Path) -> tuple[Path, Path]:
    """The small book before its last batch came, and with it."""
    return write(folder / "then", drawn(batch_b3()[0])), write(folder / "now", drawn(sheets()))


def small_draft(folder: Path) -> tuple[Path, Path]:
    """OAK as first turned, spun as the book has it and by another hand: nothing is laid anew."""
    (folder / "draft.csv").write_text("\n".join(
        ",".join(row[2:]) for row in sheets()["mandrel_profile.csv"] if row[1] in ("revision", "0") and row[0] != "ASH"
    ) + "\n")  # fmt: skip
    usual = f"C26000,OS035,0.5,full,3,8,112,100,{DRAWN}"
    (folder / "how.csv").write_text(
        "name,alloy,temper,wall_mm,anneal,passes,tool_nose_mm,blank_rim_mm,finished_rim_mm,draw_end_mm,spinner\n"
        f"usual,{usual},\nanother hand,{usual},nobody\n"
    )
    return folder / "draft.csv", folder / "how.csv"


def demo_draft(folder: Path) -> tuple[Path, Path]:
    """The demo's."""
    return demo_folder() / "draft_mandrel.csv", demo_folder() / "draft_conditions.csv"


def demo_shop(folder: Path) -> tuple[Path, Path]:
    """The demo's book without the batch spun last, and with it."""
    then, now = folder / "then", folder / "now"
    for book in (then, now):
        shutil.copytree(demo_folder() / "demo-shop", book)
    without_last_batch(then)
    return then, now


@pytest.mark.parametrize(
    ("shop", "drafted", "target"),
    [(small_shop, small_draft, "OAK-T"), pytest.param(demo_shop, demo_draft, "WREN-bell", marks=pytest.mark.benchmark)],
)
def test_an_old_version_gives_the_same_report_byte_for_byte(
    shop: Callable[[Path], tuple[Path, Path]], drafted: Callable[[Path], tuple[Path, Path]], target: str, tmp_path: Path
) -> None:
    store, copy = tmp_path / "store", tmp_path / "copy"
    then, now = shop(tmp_path)
    shutil.copytree(then, copy)
    profile, how = drafted(tmp_path)
    draft = ("predict", profile, "--conditions", how, "--store", store)
    springfit(
        ("train", then, "--store", store),
        ("correct", then, "--target", target, "--store", store, "--out", tmp_path / "c1"),
        (*draft, "--out", tmp_path / "p1"),
        seed=1,
    )
    old, new = ("--version", "v0001"), ("--version", "v0002")
    springfit(
        ("train", now, "--store", store),
        ("correct", copy, "--target", target, "--store", store, *old, "--out", tmp_path / "c2"),
        (*draft, *old, "--out", tmp_path / "p2"),
        (*draft, *new, "--out", tmp_path / "p3"),
        seed=2,
    )
    for command, one, two in (("correct", "c1", "c2"), ("predict", "p1", "p2")):
        before, after = written(tmp_path / one), written(tmp_path / two)
        assert set(before) == FILES[command]
        assert [name for name in before if before[name] != after[name]] == []
    assert written(tmp_path / "p3")["predicted_bell.csv"] != written(tmp_path / "p1")["predicted_bell.csv"]
