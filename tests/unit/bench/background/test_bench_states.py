"""The states of batches are asked for beside the page, once for a state of the book, and only where some were kept."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from springfit.bench.background import judged_states
from springfit.bench.background.judged_states import JudgedStates
from tests.helpers.bench_page import bench_events as made


def asked(told: JudgedStates, digest: str, wanted: dict[str, str]) -> bool:
    """Whether the wanted states are known after a while."""
    for _ in range(500):
        if dict(told.known(digest)) == wanted:
            return True
        time.sleep(0.01)
    return False


def test_nothing_is_begun_without_judgements(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judged_states.subprocess, "run", lambda *a, **k: pytest.fail("nothing was kept"))
    assert JudgedStates(tmp_path, tmp_path / "models").known("one") == {}


def test_states_are_told_beside_and_again_when_the_book_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "models" / "judged").mkdir(parents=True)
    (tmp_path / "models" / "judged" / "a.json").write_text("{}")
    calls: list[Any] = []
    go_on = threading.Event()

    def run(command: list[str], **more: Any) -> subprocess.CompletedProcess[str]:
        go_on.wait(60)
        calls.append(command)
        state = "watch" if len(calls) == 1 else "stop"
        return subprocess.CompletedProcess(command, 0, f'{{"done": {{"B1": "{state}"}}}}\n', "")

    monkeypatch.setattr(judged_states.subprocess, "run", run)
    told = JudgedStates(tmp_path, tmp_path / "models")
    assert told.known("one") == {}, "nobody waits for it"
    go_on.set()
    assert asked(told, "one", {"B1": "watch"}) and len(calls) == 1
    assert asked(told, "two", {"B1": "stop"}) and len(calls) == 2


def test_a_book_that_was_never_judged_has_no_states(tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    command = [sys.executable, "-m", judged_states.WORKER, "states", str(book), str(tmp_path / "models")]
    said = subprocess.run(command, capture_output=True, text=True)
    assert (said.stdout.strip(), said.returncode) == ('{"done": {}}', 0), said.stderr
