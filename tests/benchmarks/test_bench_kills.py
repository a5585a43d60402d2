"""By hand: the page killed at 50 random moments, and how long an answer and the first page take on a book of 14 000
readings."""

from __future__ import annotations

import contextlib
import http.client
import shutil
import statistics
import time
from pathlib import Path

import pytest

from tests.helpers.bench_page.bench_browser import begin, serving
from tests.helpers.bench_page.bench_client import Tablet
from tests.helpers.bench_page.random_kills import kill_at_random
from tests.helpers.repository import DEMO

pytestmark = pytest.mark.benchmark


def test_killed_at_fifty_random_moments(tmp_path: Path) -> None:
    assert kill_at_random(tmp_path, kills=50, values=300, seed=16) == 50


def test_answers_on_the_demo_book(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "book")
    took = _entries(tmp_path / "book")
    print(f"demo book: median {statistics.median(took) * 1e3:.0f} ms, 95 % {_most(took) * 1e3:.0f} ms")
    assert _most(took) < 0.100


def test_the_first_page_on_the_demo_book(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "book")
    took = []
    for _ in range(5):
        began = time.monotonic()
        server = begin(tmp_path / "book")
        with contextlib.closing(http.client.HTTPConnection("127.0.0.1", server.port, timeout=60)) as line:
            line.request("GET", "/")
            assert "<h1>" in line.getresponse().read().decode()
            took.append(time.monotonic() - began)
        server.kill()
    print(f"first page after {statistics.median(took):.2f} s (median), {max(took):.2f} s at most")
    assert max(took) < 2.0


def _entries(book: Path) -> list[float]:
    """Seconds of 120 answers, on a mandrel that was measured before."""
    from tests.helpers.bench_page import bench_events as made

    with serving(book) as server:
        tablet = Tablet(server.port, "tablet0001")
        cells = {"mandrel_id": "WREN", "spun_on": "2025-01-10", "wall": "0.018", "blank_rim": "5.25",
                 "finished_rim": "4.75"}  # fmt: skip
        tablet.send(made.start("J25-01", unit="in", **cells))
        tablet.send(made.bell("J25-01-01"))
        tablet.took.clear()
        for n in range(120):
            z = 1 + 0.1 * (n // 2)
            there = made.place("J25-01-01", f"{z:.1f}", unit="in", angle=f"{90 * (n % 2)}")
            tablet.send(made.reading(there, f"{0.5 + 0.02 * z:.4f}"))
        return tablet.took


def _most(took: list[float]) -> float:
    return sorted(took)[int(0.95 * len(took))]
