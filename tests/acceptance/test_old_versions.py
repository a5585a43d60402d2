"""An old version asked by name gives the report it gave, byte for byte, whatever was learned since."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from small_book import drawn, sheets, write
from test_add_sheets import batch_b3

from springfit.demo.locate import demo_folder

FILES = {
    "correct": {"correction.html", "correction.pdf", "verdict.json", "corrected_mandrel.csv", "cut_table.csv",
                "bells.csv", "card.pdf", "facets.csv", "corrected_mandrel.dxf"},
    "predict": {"prediction.html", "predicted_bell.csv", "differences.csv"},
}  # fmt: skip


def springfit(*arguments: object, seed: int) -> None:
    """A command in a process of its own, whose hashes of text are its own too."""
    # a report is dated: by the clock, unless this says otherwise, as for any file that is to be made again
    date = {"SOURCE_DATE_EPOCH": "1748858400"}
    surroundings = {**os.environ, **date, "PYTHONHASHSEED": str(seed), "OMP_NUM_THREADS": "1"}
    told = [str(argument) for argument in arguments]
    done = subprocess.run(
        [sys.executable, "-m", "springfit.cli", *told], env=surroundings, capture_output=True, text=True
    )
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


def demo_shop(folder: Path) -> tuple[Path, Path]:
    """The demo's book without the batch spun last, and with it."""
    then, now = folder / "then", folder / "now"
    for book in (then, now):
        shutil.copytree(demo_folder() / "demo-shop", book)
    without_last_batch(then)
    return then, now


@pytest.mark.parametrize(
    ("shop", "target"),
    [(small_shop, "OAK-T"), pytest.param(demo_shop, "WREN-bell", marks=pytest.mark.benchmark)],
)
def test_an_old_version_gives_the_same_report_byte_for_byte(
    shop: Callable[[Path], tuple[Path, Path]], target: str, tmp_path: Path
) -> None:
    demo, store, copy = demo_folder(), tmp_path / "store", tmp_path / "copy"
    then, now = shop(tmp_path)
    shutil.copytree(then, copy)
    draft = (demo / "draft_mandrel.csv", "--conditions", demo / "draft_conditions.csv", "--store", store)
    springfit("train", then, "--store", store, seed=1)
    springfit("correct", then, "--target", target, "--store", store, "--out", tmp_path / "c1", seed=2)
    springfit("predict", *draft, "--out", tmp_path / "p1", seed=3)
    springfit("train", now, "--store", store, seed=4)
    old, new = ("--version", "v0001"), ("--version", "v0002")
    springfit("correct", copy, "--target", target, "--store", store, *old, "--out", tmp_path / "c2", seed=5)
    springfit("predict", *draft, *old, "--out", tmp_path / "p2", seed=6)
    for command, one, two in (("correct", "c1", "c2"), ("predict", "p1", "p2")):
        before, after = written(tmp_path / one), written(tmp_path / two)
        assert set(before) == FILES[command]
        assert [name for name in before if before[name] != after[name]] == []
    springfit("predict", *draft, *new, "--out", tmp_path / "p3", seed=7)
    assert written(tmp_path / "p3")["predicted_bell.csv"] != written(tmp_path / "p1")["predicted_bell.csv"]
