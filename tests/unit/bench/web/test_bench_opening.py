"""The first seconds of the page: it answers at once, says what is being read, and turns no value away for good."""

from __future__ import annotations

import asyncio
import json
import threading
from pathlib import Path

import pytest

from springfit.bench.bench_shop import Shop
from springfit.bench.web import application as pages
from springfit.bench.web.doors import Application
from tests.helpers.bench_page import bench_events as made

HERE = [(b"host", b"127.0.0.1:8765"), (b"content-type", b"application/json")]


def ask(inside: Application, method: str, path: str) -> tuple[int, str]:
    """Status and text of one answer."""
    said: list[dict[str, object]] = []

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": b"{}"}

    async def send(message: dict[str, object]) -> None:
        said.append(message)

    scope = {"type": "http", "method": method, "path": path, "raw_path": path.encode(), "query_string": b"",
             "headers": HERE}  # fmt: skip
    asyncio.run(inside(scope, receive, send))  # type: ignore[arg-type]
    body = b"".join(part["body"] for part in said if part["type"] == "http.response.body")  # type: ignore[misc]
    return int(said[0]["status"]), body.decode()  # type: ignore[call-overload]


@pytest.fixture
def held(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Application, threading.Event]:
    """A page that goes on being opened until it is told to go on."""
    go_on, whole = threading.Event(), pages._whole

    def slowly(*given: object) -> Application:
        go_on.wait(60)
        return whole(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(pages, "_whole", slowly)
    shop = Shop(made.small(tmp_path / "book"), tmp_path / "models")
    shop.desk.take("sheet0001", made.start())
    return pages.application(shop), go_on


def test_a_page_says_what_is_read_and_a_call_comes_again(held: tuple[Application, threading.Event]) -> None:
    inside, go_on = held
    status, text = ask(inside, "GET", "/")
    assert status == 200 and "The book is being read" in text and "book: " in text and "B9: 0 values kept" in text
    assert ask(inside, "GET", "/static/bench.js")[0] == 200
    assert json.loads(ask(inside, "GET", "/call/read")[1]) == {"read": False}
    status, text = ask(inside, "POST", "/call/sheet/sheet0001/event")
    assert status == 503 and "come again" in json.loads(text)["problem"]
    assert "B9" not in ask(inside, "GET", "/enter")[1], "who has no code yet is told nothing of the book"
    go_on.set()
    while not json.loads(ask(inside, "GET", "/call/read")[1])["read"]:
        pass
    assert "Mandrels" in ask(inside, "GET", "/")[1]


def test_a_page_that_cannot_be_opened_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*given: object) -> Application:
        raise ImportError("no such library")

    monkeypatch.setattr(pages, "_whole", failing)
    inside = pages.application(Shop(made.small(tmp_path / "book"), tmp_path / "models"))
    while ask(inside, "GET", "/call/read")[0] == 200:
        pass
    status, text = ask(inside, "GET", "/")
    assert status == 500 and text.startswith("The page could not be opened")
