"""The state of each batch as it was judged, told by a process of its own: what tells it loads all that judges.

Nobody waits for it: the states are those that were told last, empty before, and are asked for again when the book or
the judgements change.
"""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path

from springfit.bench.background.bench_jobs import WORKER

__all__ = ["JudgedStates"]

_KEPT = "judged"  # the folder beside a store's versions that judgements are kept in


class JudgedStates:
    """The states of the batches of the book in `folder`, as kept in `store`."""

    def __init__(self, folder: Path, store: Path) -> None:
        self._folder, self._store = folder, store
        self._states: Mapping[str, str] = {}
        self._told_of = ""
        self._guard = threading.Lock()

    def known(self, digest: str) -> Mapping[str, str]:
        """State (usual, watch, stop) by batch as far as is known; `digest` that of the book as it stands."""
        kept = sorted(path.name for path in (self._store / _KEPT).glob("*.json"))
        asked = f"{digest} {len(kept)} {kept[-1]}" if kept else ""
        with self._guard:
            if asked and asked != self._told_of:
                self._told_of = asked
                threading.Thread(target=self._ask, daemon=True).start()
        return self._states

    def _ask(self) -> None:
        command = [sys.executable, "-m", WORKER, "states", str(self._folder), str(self._store)]
        said = subprocess.run(command, capture_output=True, text=True)
        for line in said.stdout.splitlines():
            told = json.loads(line).get("done")
            if isinstance(told, dict):
                self._states = told
