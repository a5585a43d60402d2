"""The command line as a maker types it: a sound book goes all the way, help is everywhere, wrong usage ends with 2."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import springfit
from springfit.cli import main
from tests.helpers.corrections.report_files import REPORT_FILES
from tests.helpers.programs.command_runs import CONDITIONS, Run, Trained, draft

COMMANDS = ("check", "new", "add", "undo", "show", "train", "predict", "correct", "survey", "watch", "bench", "demo")


def test_a_sound_book_goes_all_the_way(trained: Trained, tmp_path: Path, run: Run) -> None:
    """So that the refusals above are of what is wrong, not of everything."""
    out, conditions = tmp_path / "out", tmp_path / "conditions.csv"
    done = run("correct", trained.book, "--target", "OAK-T", "--store", trained.store, "--out", out, "--json")
    assert done.code == 0
    assert {path.name for path in out.iterdir()} == REPORT_FILES
    verdict = json.loads((out / "verdict.json").read_text())
    assert json.loads(done.said)["verdict"] == verdict["verdict"]
    conditions.write_text(CONDITIONS + "one,C26000,OS035,0.5,full,3,8,112,100,320\n")
    done = run(
        *("predict", draft(tmp_path, trained), "--conditions", conditions),
        *("--store", trained.store, "--out", tmp_path / "told"),
    )
    assert done.code == 0
    assert {path.name for path in (tmp_path / "told").iterdir()} == {"predicted_bell.csv", "prediction.html"}


def test_several_conditions_are_compared_with_the_first(trained: Trained, tmp_path: Path, run: Run) -> None:
    """In the terminal, on the page and in a table, which a later prediction of one row does not leave behind."""
    conditions, out = tmp_path / "conditions.csv", tmp_path / "told"
    usual, other = ("one,C26000,OS035,0.5,full,3,8,112,100,320\n", "hard,C26000,OS035,0.5,none,3,8,112,100,320\n")
    asked = ("predict", draft(tmp_path, trained), "--conditions", conditions, "--store", trained.store, "--out", out)
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


@pytest.mark.parametrize(
    "words", [["new", "a\0b"], ["check", "a\0b"], ["train", "b", "--store", "a\0b"], ["check", "b", "--out", "\0"]]
)
def test_a_zero_byte_is_wrong_usage(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert "zero byte" in capsys.readouterr().err
