"""Who may call: the host, the origin, the size and the session of every request are looked at before anything else.

A page from elsewhere in the same browser can make it send requests here; it can neither read the answers nor send one
that says it comes from this page. So a call that changes anything must be JSON from our own page, and a request must
name this machine by its address, which another site's name turned toward it cannot (DNS rebinding).
"""

from __future__ import annotations

import asyncio
import contextlib
import ipaddress
import socket
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from springfit.bench.web.code_sessions import Sessions

__all__ = ["BODY", "COOKIE", "LARGEST_BODY", "Application", "Doors", "Message", "Receive", "Scope", "Send"]

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

LARGEST_BODY = 32_768  # bytes: an event is some hundred
_LONGEST_PATH = 1024  # letters of path and query together; ours have some hundred
_LONGEST_ANSWER_S = 600.0  # that a stand-in for a read connection stays open: past any answer; assumed
_MOMENT_S = 0.5  # that what a refused request still sends is taken and thrown away; assumed
BODY = "springfit.body"  # of a scope: what was sent, read whole before anybody looks at it
COOKIE = "springfit_session"
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'none'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
_ALWAYS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"x-frame-options", b"DENY"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)
_OPEN = ("/enter", "/call/enter", "/call/read", "/static/")  # what is served before the code was given


class Doors:
    """Lets those requests through to `inside` that may be answered; `sessions` None where no code is asked for."""

    def __init__(self, inside: Application, sessions: Sessions | None) -> None:
        self._inside, self._sessions = inside, sessions
        self._own_names = {"localhost", socket.gethostname().lower(), f"{socket.gethostname().lower()}.local"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answers one request."""
        if scope["type"] == "lifespan":
            await self._inside(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        refused = self._refusal(scope, headers)
        if refused is not None:
            await _answer(receive, send, *refused)
            return
        closed = self._sessions is not None and not self._sessions.is_open(_cookie(headers))
        if closed and not scope["path"].startswith(_OPEN):
            await _turned_away(scope, receive, send)
            return
        body = await _body(receive) if scope["method"] == "POST" else b""
        if body is None:
            await _answer(receive, send, 413, f"found a request above {LARGEST_BODY} bytes, expected one value")
            return
        # What an answer fails of is logged and told by the application; here it ends, lest a server print more.
        with contextlib.suppress(Exception):
            await self._inside({**scope, BODY: body}, _nothing_more, _with_headers(send))

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        """Status and words for a request that may not be answered; None for one that may."""
        if len(scope.get("raw_path", b"")) + len(scope.get("query_string", b"")) > _LONGEST_PATH:
            return 414, "found an address that is too long"
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "found a request that is neither GET nor POST"
        host = headers.get("host", "")
        if not self._is_own(host):
            return 421, "found a request for another machine, expected this one by its address"
        elsewhere = headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none")
        if elsewhere and (scope["method"] == "POST" or headers.get("sec-fetch-mode") != "navigate"):
            return 403, "found a request that comes from another site"
        if scope["method"] == "POST":
            if headers.get("origin", f"http://{host}") != f"http://{host}":
                return 403, "found a request that comes from another site"
            if headers.get("content-type", "").split(";")[0].strip().lower() != "application/json":
                return 415, "found something else than JSON from our own page"
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or int(length[:12]) > LARGEST_BODY:
            return 413, f"found a request above {LARGEST_BODY} bytes, expected one value"
        return None

    def _is_own(self, host: str) -> bool:
        """Whether a Host header names this machine: by a number, or by its own name."""
        name = host.rsplit(":", 1)[0] if host.rpartition(":")[2].isdigit() else host
        if name.lower() in self._own_names:
            return True
        try:
            ipaddress.ip_address(name.strip("[]"))
        except ValueError:
            return False
        return True


async def _body(receive: Receive) -> bytes | None:
    """The whole body; None where more comes than a request may hold, whatever it said of its length."""
    taken = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return b""
        taken += message.get("body", b"")
        if len(taken) > LARGEST_BODY:
            return None
        if not message.get("more_body"):
            return taken


async def _thrown_away(receive: Receive) -> None:
    """Take what is still coming of a refused request: closed on it a connection is reset, and the answer lost."""
    with contextlib.suppress(TimeoutError):
        async with asyncio.timeout(_MOMENT_S):
            while (message := await receive())["type"] == "http.request" and message.get("more_body"):
                pass


async def _nothing_more() -> Message:
    """Stands for a connection whose request has been read."""
    await asyncio.sleep(_LONGEST_ANSWER_S)
    return {"type": "http.disconnect"}


def _with_headers(send: Send) -> Send:
    """`send`, with the headers that every answer carries."""

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = list(message.get("headers", []))
            names = {name.lower() for name, _ in headers}
            own = [*_ALWAYS, (b"content-security-policy", PAGE_POLICY.encode()), (b"cache-control", b"no-store")]
            message = {**message, "headers": [*headers, *(pair for pair in own if pair[0] not in names)]}
        await send(message)

    return sending


async def _answer(receive: Receive, send: Send, status: int, said: str) -> None:
    """A short plain answer that ends the connection, once what is still coming was taken."""
    await _thrown_away(receive)
    body = said.encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    start = {"type": "http.response.start", "status": status, "headers": [*headers, (b"connection", b"close")]}
    await _with_headers(send)(start)
    await send({"type": "http.response.body", "body": body})


async def _turned_away(scope: Scope, receive: Receive, send: Send) -> None:
    """To the door for a page, a word for a call."""
    if scope["method"] == "GET" and not scope["path"].startswith("/call/"):
        headers = [(b"location", b"/enter"), (b"content-length", b"0")]
        await _with_headers(send)({"type": "http.response.start", "status": 303, "headers": headers})
        await send({"type": "http.response.body", "body": b""})
        return
    await _answer(receive, send, 401, "the code is asked for again")


def _cookie(headers: dict[str, str]) -> str:
    """The session's name in the request; empty without one."""
    for pair in headers.get("cookie", "").split(";"):
        name, _, value = pair.strip().partition("=")
        if name == COOKIE:
            return value
    return ""
