"""A server killed at random moments while a tablet enters values."""

from __future__ import annotations

import json
import random
import threading
import time
from pathlib import Path

from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made
from tests.helpers.bench_page.bench_browser import start
from tests.helpers.bench_page.bench_client import Tablet


def kill_at_random(folder: Path, *, kills: int, values: int, seed: int) -> int:
    """Enters values while the server is killed again and again, at the end too; how often it was killed."""
    book, chance = made.small(folder / "book"), random.Random(seed)
    holder = {"server": start(book)}
    tablet = Tablet(holder["server"].port, "tablet0001")
    stop, killed = threading.Event(), [0]

    def kill() -> None:
        while killed[0] < kills and not stop.is_set():
            time.sleep(chance.uniform(0.05, 1.5))
            holder["server"].kill()
            killed[0] += 1
            holder["server"] = start(book, port=tablet.port)

    thread = threading.Thread(target=kill)
    thread.start()
    tablet.batch("B80", values, until=lambda: killed[0] >= kills - 1)
    tablet.finish()
    thread.join()
    stop.set()
    holder["server"].kill()
    read = read_book(book)[0].measurements
    new = read[read["bell_id"] == "B80-1"].sort_values(["z_mm", "angle_deg"])
    got = [(z, angle, f"{value:.3f}") for z, angle, value in zip(new["z_mm"], new["angle_deg"], new["value_mm"],
                                                                 strict=True)]  # fmt: skip
    assert got == sorted(tablet.entered), json.dumps({"lost": len(set(tablet.entered) - set(got))})
    return killed[0]
