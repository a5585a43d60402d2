"""Long work of one shop: one piece at a time, how far each is, and what came of the last."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import quote

__all__ = ["WORKER", "BenchJobs", "JobState", "report_folder"]

WORKER = "springfit.bench.background.bench_worker"


@dataclass(frozen=True)
class JobState:
    """Of one piece of work: its `title`, whether it is `running`, the newest `progress`, what was `done`, its
    `problems`."""

    title: str = ""
    running: bool = False
    progress: str = ""
    done: str = ""
    problems: tuple[str, ...] = ()


class BenchJobs:
    """Learning and reporting for the book in `folder`, beside the page; `changed` is called when a piece is done."""

    def __init__(self, folder: Path, store: Path, changed: Callable[[], None]) -> None:
        self._folder, self._store, self._changed = folder, store, changed
        self._state = JobState()
        self._guard = threading.Lock()

    @property
    def state(self) -> JobState:
        """How the newest piece of work stands."""
        return self._state

    def learn(self) -> bool:
        """Begins to learn the book; False where other work is under way."""
        return self._begin("Learning the book", ["learn", str(self._folder), str(self._store)])

    def correct(self, target_id: str) -> bool:
        """Begins the report of a wanted bell; False where other work is under way."""
        out = report_folder(self._folder, target_id)
        arguments = ["correct", str(self._folder), str(self._store), "--", target_id, str(out)]
        return self._begin(f"Report on {target_id}", arguments)

    def _begin(self, title: str, arguments: list[str]) -> bool:
        with self._guard:
            if self._state.running:
                return False
            self._state = JobState(title, running=True, progress="beginning")
        threading.Thread(target=self._run, args=(arguments,), daemon=True).start()
        return True

    def _run(self, arguments: list[str]) -> None:
        process = subprocess.Popen(
            [sys.executable, "-m", WORKER, *arguments], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert process.stdout is not None
        for line in process.stdout:
            self._hear(line)
        process.wait()
        if not self._state.done and not self._state.problems:
            self._state = replace(self._state, problems=("the work was stopped before it was done",))
        self._state = replace(self._state, running=False)
        self._changed()

    def _hear(self, line: str) -> None:
        try:
            said = json.loads(line)
        except ValueError:
            return
        if "progress" in said:
            self._state = replace(self._state, progress=str(said["progress"]))
        elif "done" in said:
            self._state = replace(self._state, done=str(said["done"]))
        elif "problems" in said:
            self._state = replace(self._state, problems=tuple(map(str, said["problems"])))


def report_folder(book: Path, target_id: str) -> Path:
    """Where a wanted bell's report lies: in the book's folder `reports`, under a name that leads nowhere else."""
    return book / "reports" / quote(target_id, safe="").replace(".", "%2E")
