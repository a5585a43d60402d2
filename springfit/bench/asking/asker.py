"""The process that the model is asked in: begun when somebody asks, ended with the page, begun anew when it fails."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

__all__ = ["Asker"]

_WORKER = "springfit.bench.asking.ask_worker"


class Asker:
    """Asks the model of the book in `folder` and of `store`."""

    def __init__(self, folder: Path, store: Path) -> None:
        self._folder, self._store = folder, store
        self._process: subprocess.Popen[str] | None = None
        self._one = threading.Lock()

    def ask(self, mandrel_id: str, changes: list[list[str]], state: str) -> dict[str, Any]:
        """The answer to changes of the mandrel's present bell; `state` tells one book and model from another."""
        question = {"book": str(self._folder), "store": str(self._store), "mandrel": mandrel_id, "changes": changes,
                    "state": state}  # fmt: skip
        with self._one:
            process = self._running()
            try:
                assert process.stdin is not None and process.stdout is not None
                process.stdin.write(json.dumps(question) + "\n")
                process.stdin.flush()
                said: dict[str, Any] = json.loads(process.stdout.readline())
                return said
            except (OSError, ValueError):
                process.kill()
                self._process = None
                return {"problem": "the model could not be asked; try again"}

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None or self._process.poll() is not None:
            self._process = subprocess.Popen(
                [sys.executable, "-m", _WORKER], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL, text=True,
            )  # fmt: skip
        return self._process
