"""The command `watch` on a small shop: its files, their columns, and a batch passed back toward the tail unlogged."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pypdf import PdfReader

from springfit.cli import main
from springfit.demo.keeping.book_sheets import added, write_book
from springfit.demo.keeping.pages import run_tables
from springfit.demo.keeping.runs import Run, spin
from springfit.demo.keeping.sessions import Plan
from springfit.demo.many_shops import make_shop
from springfit.demo.spinning.spun import BatchEffects

BELL_COLUMNS = ["bell_id", "batch_id", "state", "finding", "group", "evidence", "settle_by"]


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four sound batches, trained on; then one whose last pass ran toward the tail, which the book does not say."""
    folder = tmp_path_factory.mktemp("watched")
    shop = make_shop(21, batches=4, mandrels=1, bells=3, story="right", steady=True, blanks=0.0)
    mandrel, rng = shop.mandrels["M1"], np.random.default_rng(4)
    write_book(shop.tables, folder / "book")
    assert main(["train", str(folder / "book"), "--store", str(folder / "models")]) == 0
    recipe = replace(mandrel.habit, spinner="A", lot="L1", back_passes=1)
    day = "2024-03-04"
    run = Run("N1", day, "M1", mandrel.on(day), recipe, BatchEffects(), Plan(datum="witness"), 3, blanks=0.0)
    rows = run_tables(spin(run, shop.workshop, rng))
    rows["batches"]["back_passes"] = 0
    write_book(added(shop.tables, rows), folder / "book")
    assert main(["watch", str(folder / "book"), "--store", str(folder / "models"), "--out", str(folder / "out")]) == 0
    return folder / "out"


def test_files_are_those_that_scripts_rely_on(out: Path) -> None:
    assert {path.name for path in out.iterdir()} == {"bells.csv", "batches.csv", "watch.html", "watch.pdf"}
    bells, batches = pd.read_csv(out / "bells.csv"), pd.read_csv(out / "batches.csv")
    assert list(bells.columns) == BELL_COLUMNS
    assert set(bells["state"]) <= {"usual", "watch", "stop"}
    assert len(bells) == 15 and not batches.duplicated(["batch_id", "zone"]).any()


def test_the_passed_back_batch_is_named_and_no_sound_bell_is(out: Path) -> None:
    bells = pd.read_csv(out / "bells.csv").set_index("batch_id")
    assert set(bells.loc["N1", "finding"]) == {"throat_hump"} and set(bells.loc["N1", "state"]) == {"stop"}
    assert not (bells.drop("N1")["finding"] == "throat_hump").any()


def test_it_was_held_against_the_version_that_had_not_learned_it(out: Path) -> None:
    batches = pd.read_csv(out / "batches.csv").set_index("batch_id")
    assert set(batches.loc["N1", "forecast_by"]) == {"v0001"}
    assert set(batches.drop("N1")["forecast_by"]) == {"earlier batches"}


def test_what_was_said_before_it_was_learned_stays_after_it_was(out: Path) -> None:
    """Training learns the faulty batch; that it was not normal is no matter of hindsight."""
    store, again = str(out.parent / "models"), out.parent / "again"
    assert main(["train", str(out.parent / "book"), "--store", store]) == 0
    assert main(["watch", str(out.parent / "book"), "--store", store, "--out", str(again)]) == 0
    assert (again / "bells.csv").read_bytes() == (out / "bells.csv").read_bytes()
    assert (again / "batches.csv").read_bytes() == (out / "batches.csv").read_bytes()


def test_the_paper_is_one_page_that_says_what_the_page_says(out: Path) -> None:
    pages = PdfReader(out / "watch.pdf").pages
    text = " ".join(pages[0].extract_text().split())
    assert len(pages) == 1
    for said in ("STOP", "Throat swollen by passes toward the tail", "Settle it"):
        assert said in text and said in (out / "watch.html").read_text("utf-8")
