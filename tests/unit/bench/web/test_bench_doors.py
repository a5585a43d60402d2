"""What the doors do with a request before anything inside sees it: an answer that is lost says nothing."""

from __future__ import annotations

import asyncio

import pytest

from springfit.bench.web.code_sessions import Sessions
from springfit.bench.web.doors import LARGEST_BODY, Doors, Message, Receive, Scope, Send

PIECE = LARGEST_BODY // 2
JSON = (b"content-type", b"application/json")


async def _inside(scope: Scope, receive: Receive, send: Send) -> None:
    raise AssertionError("a refused request came in")


def _asked(pieces: int, *headers: tuple[bytes, bytes], sessions: Sessions | None = None) -> tuple[list[int], int]:
    """Statuses answered to a call of so many pieces, and how many of them were left untaken at the first answer."""
    coming = [{"type": "http.request", "body": b"x" * PIECE, "more_body": n > 0} for n in reversed(range(pieces))]
    statuses: list[int] = []
    untaken: list[int] = []

    async def receive() -> Message:
        return coming.pop(0)

    async def send(message: Message) -> None:
        untaken.append(len(coming))
        if message["type"] == "http.response.start":
            statuses.append(message["status"])

    own = [(b"host", b"127.0.0.1:8"), JSON, *headers]
    scope = {"type": "http", "method": "POST", "path": "/call/x", "headers": own}
    asyncio.run(Doors(_inside, sessions)(scope, receive, send))
    return statuses, untaken[0]


@pytest.mark.parametrize("told", [(), ((b"content-length", str(9 * PIECE).encode()),)])
def test_a_request_too_large_is_taken_whole_before_it_is_refused(told: tuple[tuple[bytes, bytes], ...]) -> None:
    """A connection closed with something unread in it is reset, and the answer may never arrive."""
    assert _asked(9, *told) == ([413], 0)


def test_so_is_a_call_without_a_session() -> None:
    nobody = Sessions("123456")
    assert _asked(2, sessions=nobody) == ([401], 0)
