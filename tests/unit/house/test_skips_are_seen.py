"""A skip that nobody allowed fails the run where CI is set, and only there; files that begin first are there."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import LONG
from tests.helpers.repository import ROOT

CONFTEST = ROOT / "tests" / "conftest.py"


def run(folder: Path, reason: str, *, ci: bool) -> subprocess.CompletedProcess[str]:
    """One skipped and one passing test in a folder of their own, under this project's hooks."""
    (folder / "conftest.py").write_text(CONFTEST.read_text(encoding="utf-8"), encoding="utf-8")
    test = f"import pytest\n\ndef test_a():\n    pytest.skip({reason!r})\n\ndef test_b():\n    pass\n"
    (folder / "test_planted.py").write_text(test, encoding="utf-8")
    # What this run was asked with is no business of the planted one, whose plugins are not there to know it.
    known = {name: value for name, value in os.environ.items() if name not in ("CI", "PYTEST_ADDOPTS")}
    known["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # whose loading takes seconds, and which have no part in this
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(folder)],
        capture_output=True, text=True, env={**known, **({"CI": "true"} if ci else {})}, cwd=folder,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("reason", "ci", "fails"),
    [
        ("no time", True, True),
        ("no time", False, False),
        ("the sample shops are not here; SPRINGFIT_SHARED may name their folder", True, False),
    ],
)
def test_a_skip_without_leave_fails(tmp_path: Path, reason: str, ci: bool, fails: bool) -> None:
    done = run(tmp_path, reason, ci=ci)
    assert (done.returncode != 0) == fails, done.stdout
    assert ("not in tests/conftest.py" in done.stdout) == fails


def test_the_long_files_are_there() -> None:
    there = {path.stem for path in (ROOT / "tests").rglob("test_*.py")}
    assert set(LONG) <= there, "tests/conftest.py begins files first that are not there"
