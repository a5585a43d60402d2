"""What the tests of the page at the bench share: a server of its own process, and a real browser that taps."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.repository import ROOT

__all__ = ["NO_BROWSER", "PATIENCE", "Server", "Taps", "begin", "browser", "serving", "start"]

NO_BROWSER = "no browser is here: install Debian's chromium and chromium-driver"
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage",
)  # fmt: skip
PATIENCE = 120.0  # seconds for a page to do what it was asked, on a machine that does other things too


@dataclass
class Server:
    """`springfit bench` as a process of its own; `address` to open, `code` where it is shared."""

    process: subprocess.Popen[str]
    address: str
    code: str = ""

    @property
    def port(self) -> int:
        """Its port."""
        return int(self.address.rstrip("/").rpartition(":")[2])

    def kill(self) -> None:
        """Ends it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


def start(book: Path, *more: str, port: int = 0) -> Server:
    """Starts the page for a book and waits until it says where it is and has read the book."""
    server = begin(book, *more, port=port)
    while not _has_read(server):
        assert server.process.poll() is None, "the page ended before it had read the book"
        time.sleep(0.02)
    return server


def begin(book: Path, *more: str, port: int = 0) -> Server:
    """Starts the page for a book and waits until it says where it is."""
    command = [sys.executable, "-m", "springfit.cli", "bench", str(book), "--port", str(port), *more]
    known = {**os.environ, "OMP_NUM_THREADS": "1", "PYTHONPATH": str(ROOT)}
    with open(book.parent / "server-errors.txt", "a", encoding="utf-8") as log:
        process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=log, text=True, env=known, cwd=book.parent
        )
    assert process.stdout is not None
    said = ""
    while "open http" not in said or ("--share" in more and "the code is" not in said):
        line = process.stdout.readline()
        assert line, f"the page did not start: {said}"
        said += line
    address = re.findall(r"open (http://127\S+)", said)
    while not address:
        said += process.stdout.readline()
        address = re.findall(r"open (http://127\S+)", said)
    code = re.search(r"the code is ([\d ]+)", said)
    return Server(process, address[0], code.group(1).strip() if code else "")


def _has_read(server: Server) -> bool:
    """Whether the page has read its book."""
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE)
    try:
        line.request("GET", "/call/read")
        return bool(json.loads(line.getresponse().read())["read"])
    finally:
        line.close()


@contextlib.contextmanager
def serving(book: Path, *more: str, port: int = 0) -> Iterator[Server]:
    """The page for a book while a test runs."""
    server = start(book, *more, port=port)
    try:
        yield server
    finally:
        server.kill()


def browser(profile: Path, *, width: int = 390, height: int = 844) -> Any:
    """A headless browser with a profile of its own; without one the test is skipped, saying what to install."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if chromium is None or driver is None:
        pytest.skip(NO_BROWSER)
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (*FLAGS, f"--user-data-dir={profile}", f"--window-size={width},{height}"):
        options.add_argument(flag)
    opened = webdriver.Chrome(options, webdriver.ChromeService(driver))
    opened.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500},
    )
    return opened


class Taps:
    """A person at a tablet: taps what is written on it, and counts the taps."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver
        self.count = 0

    def see(self, words: str, seconds: float = PATIENCE) -> None:
        """Waits until the page says `words`."""
        self.wait(lambda: words in self.text(), f"the page does not say {words!r}", seconds)

    def text(self) -> str:
        """All that stands on the page."""
        return str(self.driver.execute_script("return document.body ? document.body.innerText : ''"))

    def tap(self, words: str, *, within: str = "", seconds: float = PATIENCE) -> None:
        """Taps the button, link, chip or field that says `words`: the whole of it, or else how it begins."""
        found: list[Any] = []

        def there() -> bool:
            found[:] = [one for one in [self.driver.execute_script(_FIND, words, within)] if one]
            return bool(found)

        self.wait(there, f"nothing to tap says {words!r}", seconds)
        found[0].click()
        self.count += 1

    def type(self, number: str, *, pad: bool = False) -> None:
        """Types a number on the page's own keys; with `pad` on those under a field."""
        own = "#pad " if pad else ""
        whole, _, part = number.partition("-") if "/" in number else (number, "", "")
        if "/" in whole:
            whole, part = "", whole
        for key in whole:
            self.tap("point" if key == "." else key, within=f"{own}.keys:not(.fractions)")
        if part:
            self.tap(part, within=f"{own}.fractions")

    def value(self, number: str) -> None:
        """Types a value and taps Next; waits until the next place is asked for, or a doubt stands."""
        before = self.driver.execute_script(_ASKED)
        self.type(number)
        self.tap("Next")
        self.wait(lambda: self.driver.execute_script(_ASKED) != before, f"{number} was not taken")

    def wait(self, done: Any, else_: str, seconds: float = PATIENCE) -> None:
        """Waits until `done`; says `else_` and what stands on the page where it never is."""
        until, pause = time.monotonic() + seconds, 0.02
        while time.monotonic() < until:
            with contextlib.suppress(Exception):
                if done():
                    return
            time.sleep(pause)
            pause = min(1.5 * pause, 0.5)  # what takes long is not slowed down by being asked after
        raise AssertionError(f"{else_}; it says: {self.text()}")


_ASKED = """
return ['#place', '#doubt', '#stage h2'].map((one) => document.querySelector(one)?.textContent);
"""
_FIND = """
const [words, within] = arguments;
const from = within ? document.querySelector(within) : document;
if (!from) return null;
const shown = (one) => one.offsetParent && !one.disabled;
const all = [...from.querySelectorAll('button, a, label.chip, summary')].filter(shown);
const said = (one) => (one.getAttribute('aria-label') || one.textContent).trim().replace(/\\s+/g, ' ');
return all.find((one) => said(one) === words) || all.find((one) => said(one).startsWith(words)) || null;
"""
