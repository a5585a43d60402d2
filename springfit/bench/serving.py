"""Listening: on this machine alone, or on the shop's network for those who have the code."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

from springfit.bench.bench_shop import Shop

__all__ = ["MISSING", "addresses_of", "serve"]

MISSING = "the page at the bench needs starlette and uvicorn: install springfit[bench]"
_EVERYWHERE, _HERE = "0.0.0.0", "127.0.0.1"
_MOST_AT_ONCE = 64  # requests: a shop has a handful of tablets


def serve(folder: Path, store: Path, *, port: int, share: bool, said: Callable[[str], None]) -> None:
    """Serves the book in `folder` until it is stopped; `said` is told where the page is, and the code.

    Raises ImportError where the libraries of the web are not installed, OSError for a port that is taken.
    """
    import uvicorn

    from springfit.bench.web.application import application
    from springfit.bench.web.code_sessions import Sessions, new_code

    listening = _listening(_EVERYWHERE if share else _HERE, port)
    shop = Shop(folder, store)
    code = new_code() if share else ""
    settings = uvicorn.Config(
        application(shop, Sessions(code) if share else None), log_level="error", access_log=False, server_header=False,
        date_header=False, limit_concurrency=_MOST_AT_ONCE, timeout_keep_alive=30, lifespan="off", ws="none",
        h11_max_incomplete_event_size=16_384,
    )  # fmt: skip
    bound = listening.getsockname()[1]
    for address in addresses_of(share):
        said(f"open http://{address}:{bound}/")
    if share:
        said(f"the code is {code}")
    uvicorn.Server(settings).run(sockets=[listening])


def addresses_of(share: bool) -> list[str]:
    """The addresses that the page is found at: this machine's own, and with `share` the one the network knows."""
    if not share:
        return [_HERE]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): nothing is sent to it
            return [probe.getsockname()[0], _HERE]
        except OSError:
            return [_HERE]


def _listening(host: str, port: int) -> socket.socket:
    # With its protocol named, answers go out at once (TCP_NODELAY): else each small one waits 40 ms for the last to be
    # acknowledged.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as taken:
        listening.close()
        raise OSError(taken.errno, f"{taken.strerror}; choose another with --port", f"port {port}") from None
    listening.listen(128)
    return listening
