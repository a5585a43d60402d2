"""What is answered in the first seconds: the libraries and the book take some, and a tablet is not kept waiting.

The server listens at once. Until the pages can be made, every address of a page says what is being read and goes on by
itself when it was; a call is told to come again, as a tablet does with all that it has to send.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from importlib import resources
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import BaseRoute, Route

from springfit.bench.bench_shop import Shop
from springfit.bench.web.doors import Application, Message, Receive, Scope, Send

__all__ = ["Opening", "opening_routes", "templates", "waiting_page"]


_FIRST_S = 0.4  # that the rest waits for a first answer to be given: who started the page is looking at it


class Opening:
    """Answers as `waiting` does until `whole`, begun beside it, has made the application for good."""

    def __init__(self, waiting: Application, whole: Callable[[], Application]) -> None:
        self._inside, self._whole = waiting, whole
        self._answered = threading.Event()
        threading.Thread(target=self._open, daemon=True).start()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answers one request."""
        await self._inside(scope, receive, send)
        self._answered.set()

    def _open(self) -> None:
        self._answered.wait(_FIRST_S)
        try:
            self._inside = self._whole()
        except Exception as failed:  # a library that cannot be loaded: nothing but a new installation helps
            logging.getLogger("springfit.bench").error("%s: %s", type(failed).__name__, failed)
            self._inside = _broken


def opening_routes(shop: Shop) -> list[BaseRoute]:
    """The addresses of the first seconds."""

    def page(request: Request) -> Response:
        # Who has not given the code yet is told nothing of the book.
        return waiting_page(shop, templates(), closed=request.url.path == "/enter")

    return [
        Route("/call/read", lambda request: JSONResponse({"read": False})),
        Route("/call/{rest:path}", _come_again, methods=["GET", "POST"]),
        Route("/{rest:path}", page),
    ]


def templates() -> Environment:
    """The templates of the pages, every value escaped."""
    return Environment(
        loader=FunctionLoader(_template), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip


def waiting_page(shop: Shop, environment: Environment, *, closed: bool = False) -> Response:
    """The page that says what is being read, and goes on by itself; `closed` without a word of the book."""
    tables, megabytes = shop.on_disk()
    sheets: list[Any] = [] if closed else shop.desk.open_sheets()
    said = environment.get_template("waiting.html").render(
        closed=closed, name=shop.folder.resolve().name, tables=tables, megabytes=megabytes, sheets=sheets
    )
    return HTMLResponse(said)


def _come_again(request: Request) -> Response:
    return JSONResponse({"problem": "the book is being read: come again in a moment"}, 503)


async def _broken(scope: Scope, receive: Receive, send: Send) -> None:
    """What is answered when the page cannot be opened at all."""
    body = b"The page could not be opened: what it said stands where springfit was started."
    start: Message = {"type": "http.response.start", "status": 500, "headers": [(b"content-type", b"text/plain")]}
    await send(start)
    await send({"type": "http.response.body", "body": body})


def _template(name: str) -> str:
    return resources.files("springfit.bench.web").joinpath("templates", name).read_text("utf-8")
