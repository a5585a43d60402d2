"""A tablet without a screen: sends events as the page's own script does, again and again until each is answered for."""

from __future__ import annotations

import http.client
import json
import time
from collections.abc import Callable
from typing import Any

from tests.helpers.bench_page import bench_events as made

PATIENCE = 240.0  # seconds that a tablet goes on trying, on a machine that does other things too


class Tablet:
    """Enters values into one sheet of a page at `port`; `entered` is what it was told stands: z, angle, value."""

    def __init__(self, port: int, sheet: str) -> None:
        self.port, self.sheet = port, sheet
        self.entered: list[tuple[float, float, str]] = []
        self.took: list[float] = []
        self._line: http.client.HTTPConnection | None = None

    def send(self, event: dict[str, Any]) -> dict[str, Any]:
        """One event, sent until it is answered."""
        began = time.monotonic()
        status, said = self.call(f"/call/sheet/{self.sheet}/event", event)
        assert status == 200, said
        self.took.append(time.monotonic() - began)
        return said

    def call(self, path: str, body: dict[str, Any]) -> tuple[int, dict[str, Any]]:
        """One call, made until it is answered."""
        until = time.monotonic() + PATIENCE
        while True:
            try:
                line = self._line = self._line or http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
                line.request("POST", path, json.dumps(body), {"Content-Type": "application/json"})
                answer = line.getresponse()
                said = json.loads(answer.read())
                if answer.status != 503:  # the page is being opened: as a browser's script does, it comes again
                    return answer.status, said
                if time.monotonic() > until:
                    raise TimeoutError(said["problem"])
                time.sleep(0.05)
            except (OSError, http.client.HTTPException, ValueError):
                self._line = None
                if time.monotonic() > until:
                    raise
                time.sleep(0.05)

    def batch(self, batch: str, values: int, *, until: Callable[[], bool] = lambda: True) -> None:
        """A new batch of OAK with so many values on one bell, more as long as `until` is not true."""
        bell = f"{batch}-1"
        self.send(made.start(batch))
        self.send(made.bell(bell))
        n = 0
        while n < values or (not until() and n < 40 * values):
            z, angle = 40.0 + 0.5 * (n // 2), 90.0 * (n % 2)
            typed = made.sound(z, 0.03 + 0.002 * (n % 3)) if z <= 380 else "0"
            if z > 380:
                break
            self.send(made.reading(made.place(bell, f"{z:g}", angle=f"{angle:g}"), typed))
            self.entered.append((z, angle, typed))
            n += 1

    def finish(self) -> None:
        """Into the book; found finished counts too, for the answer may have been lost."""
        status, said = self.call(f"/call/sheet/{self.sheet}/finish", {})
        assert status == 200 or (status == 404 and "finished" in said["problem"]), said
