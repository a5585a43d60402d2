"""The page's addresses and what answers each; an answer is never a traceback."""

from __future__ import annotations

import logging
from importlib import resources
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from springfit.bench.bench_shop import Shop
from springfit.bench.web.code_sessions import Sessions
from springfit.bench.web.doors import Application, Doors
from springfit.bench.web.opening import Opening, opening_routes

__all__ = ["application"]

# All that is served beside the pages, by its place in `static/`; no other name is looked for on the disk.
_SCRIPTS = (
    "begun_sheet", "bench", "calls", "elements", "kept_events", "number_keys", "typed_lengths", "work",
    "pages/answer_figure", "pages/ask_page", "pages/enter_page", "pages/form_page", "pages/waiting_page",
    "pages/work_page",
    "sheet/bells", "sheet/curve_figure", "sheet/fields", "sheet/finishing", "sheet/keypad", "sheet/sheet",
    "sheet/sheet_page", "sheet/stations", "sheet/taking", "sheet/ways",
)  # fmt: skip
_STATIC = {
    "bench.css": "text/css", "mark.svg": "image/svg+xml", **{f"{name}.js": "text/javascript" for name in _SCRIPTS},
}  # fmt: skip


def application(shop: Shop, sessions: Sessions | None = None) -> Application:
    """The whole page for a shop, answering at once; `sessions` where it is shared and a code is asked for."""
    waiting = _routed(opening_routes(shop))
    return Doors(Opening(waiting, lambda: _whole(shop, sessions)), sessions)


def _whole(shop: Shop, sessions: Sessions | None) -> Application:
    from springfit.bench.web.bench_pages import Pages
    from springfit.bench.web.calls import Calls

    # Not before: two threads that load one library at a time can wait for one another for ever.
    shop.read_beside()
    pages, calls = Pages(shop), Calls(shop, sessions)
    return _routed(
        [
            *(Route(path, page) for path, page in pages.addresses().items()),
            *(Route(path, call, methods=["POST"]) for path, call in calls.addresses().items()),
            *(Route(path, call) for path, call in calls.looked_up().items()),
        ]
    )


def _routed(routes: list[BaseRoute]) -> Application:
    handlers: dict[Any, Any] = {HTTPException: _refused, Exception: _failed}
    return Starlette(routes=[Route("/static/{name:path}", _static), *routes], exception_handlers=handlers)


def _static(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in _STATIC:
        raise HTTPException(404)
    data = resources.files("springfit.bench.web").joinpath("static", *name.split("/")).read_bytes()
    return Response(data, media_type=_STATIC[name], headers={"Cache-Control": "no-cache"})


def _refused(request: Request, refused: HTTPException) -> Response:
    said = {404: "there is nothing at this address", 405: "this address is not asked in that way"}
    return _plain(request, refused.status_code, said.get(refused.status_code, refused.detail))


def _failed(request: Request, failed: Exception) -> Response:
    logging.getLogger("springfit.bench").error("%s: %s", type(failed).__name__, failed)
    return _plain(request, 500, "that could not be done; what was entered is kept")


def _plain(request: Request, status: int, said: str) -> Response:
    if request.url.path.startswith("/call/"):
        return JSONResponse({"problem": said}, status)
    return PlainTextResponse(said, status)
