"""The calls that a page makes while it is open: JSON in, JSON out."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import filelock
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from springfit.bench.bench_shop import Shop
from springfit.bench.entry.bench_sheet import BenchSheet, EventError
from springfit.bench.entry.entry_place import Place, place_of
from springfit.bench.entry.finishing import finish, take_back
from springfit.bench.judging.judge import Judge
from springfit.bench.web.code_sessions import Sessions, TooSoon
from springfit.bench.web.doors import BODY, COOKIE
from springfit.bench.web.sheet_view import curve_view, judged_view, sheet_view
from springfit.findings import BookError, only_errors

__all__ = ["Calls"]

Endpoint = Callable[[Request], Response]


class Calls:
    """What the script of a page may ask of a shop."""

    def __init__(self, shop: Shop, sessions: Sessions | None) -> None:
        self._shop, self._sessions = shop, sessions
        self._judge = Judge(lambda: shop.last_read().book)

    def addresses(self) -> dict[str, Endpoint]:
        """The calls that change something, by their address."""
        return {
            "/call/enter": self.enter,
            "/call/sheet/{sheet_id}/event": self.event,
            "/call/sheet/{sheet_id}/finish": self.finish,
            "/call/undo": self.undo,
            "/call/ask": self.ask,
            "/call/learn": self.learn,
            "/call/correct": self.correct,
        }

    def looked_up(self) -> dict[str, Endpoint]:
        """The calls that only look."""
        return {"/call/sheet/{sheet_id}": self.sheet, "/call/sheet/{sheet_id}/curve": self.curve,
                "/call/work": self.work, "/call/read": self.read}  # fmt: skip

    def read(self, request: Request) -> Response:
        """Whether the book was read."""
        return JSONResponse({"read": not self._shop.is_opening})

    def enter(self, request: Request) -> Response:
        """Opens a session for the right code."""
        if self._sessions is None:
            return JSONResponse({"ok": True})
        try:
            name = self._sessions.enter(str(_said(request).get("code", "")))
        except TooSoon as soon:
            return JSONResponse({"problem": f"wait {soon.seconds:.0f} s, then try the code again"}, 429)
        if name is None:
            return JSONResponse({"problem": "that is not the code shown where springfit was started"}, 403)
        answer = JSONResponse({"ok": True})
        answer.set_cookie(COOKIE, name, max_age=self._sessions.lasts, httponly=True, samesite="strict", path="/")
        return answer

    def event(self, request: Request) -> Response:
        """Takes one event, on the disk before it is answered, and says what the checks say of it."""
        event = _said(request)
        try:
            sheet = self._shop.desk.take(request.path_params["sheet_id"], event)
        except EventError as unfit:
            return JSONResponse({"problem": str(unfit)}, 400)
        except (OSError, filelock.Timeout) as failed:
            said = getattr(failed, "strerror", None) or "another program holds the sheet"
            return JSONResponse({"problem": f"it could not be written ({said}); keep this page open"}, 503)
        answer: dict[str, Any] = {"ok": True, "values": sheet.values}
        if event.get("what") == "reading":
            place = place_of(event["place"])
            answer |= self._told(sheet, place, str(event["id"]))
        return JSONResponse(answer)

    def _told(self, sheet: BenchSheet, place: Place, name: str) -> dict[str, Any]:
        """What stands at the place now, and what is said of it."""
        stands = sheet.readings[place]
        if stands.event_id != name:
            return {"taken": {"typed": stands.typed, "outcome": stands.outcome, "id": stands.event_id}}
        if stands.outcome != "value":
            return {"doubts": [], "dot": None}
        return judged_view(self._judge.judged(sheet, place), place, self._shop.units, answered=bool(stands.answer))

    def sheet(self, request: Request) -> Response:
        """A sheet in the making, and how its mandrel was measured before."""
        return JSONResponse(sheet_view(self._sheet(request), self._shop.last_read().book))

    def curve(self, request: Request) -> Response:
        """The bells before and the dots of one bell, for the way that the query names."""
        sheet = self._sheet(request)
        try:
            place = place_of(dict(request.query_params))
        except ValueError as unfit:
            raise HTTPException(400, str(unfit)) from None
        return JSONResponse(curve_view(self._judge, sheet, place, self._shop.units))

    def finish(self, request: Request) -> Response:
        """Adds the sheet to the book, or says what stands in the way."""
        self._sheet(request)
        try:
            done = finish(self._shop.folder, self._shop.desk, request.path_params["sheet_id"])
        except BookError as failed:
            return _problems(failed)
        self._shop.read_beside()
        return JSONResponse({"ok": True, "lines": list(done.lines())})

    def undo(self, request: Request) -> Response:
        """Takes back what was added last; a sheet of ours is open again by it."""
        try:
            lines, sheet_id = take_back(self._shop.folder, self._shop.desk)
        except BookError as failed:
            return _problems(failed)
        self._shop.read_beside()
        return JSONResponse({"ok": True, "lines": list(lines), "sheet": sheet_id})

    def ask(self, request: Request) -> Response:
        """What the model says of a changed bell, at once."""
        said, book = _said(request), self._shop.last_read().book
        mandrel_id, changes = said.get("mandrel"), said.get("changes")
        if book is None or not isinstance(mandrel_id, str) or mandrel_id not in set(book.batches["mandrel_id"]):
            raise HTTPException(404, "nothing was spun on such a mandrel")
        if not isinstance(changes, list) or not all(_is_change(one) for one in changes):
            raise HTTPException(400, "found no changes, expected pairs of a slider and its value")
        return JSONResponse(self._shop.ask(mandrel_id, changes))

    def learn(self, request: Request) -> Response:
        """Begins to learn the book beside the page."""
        return _begun(self._shop.jobs.learn())

    def correct(self, request: Request) -> Response:
        """Begins the report of a wanted bell beside the page."""
        target_id = _said(request).get("target")
        book = self._shop.last_read().book
        if book is None or not isinstance(target_id, str) or target_id not in set(book.targets["target_id"]):
            raise HTTPException(404, "the book has no such wanted bell")
        return _begun(self._shop.jobs.correct(target_id))

    def work(self, request: Request) -> Response:
        """How far the work beside the page is."""
        state = self._shop.jobs.state
        lacking = None if state.running else self._shop.not_learned()
        return JSONResponse({**vars(state), "not_learned": None if lacking is None else list(lacking)})

    def _sheet(self, request: Request) -> BenchSheet:
        try:
            return self._shop.desk.sheet(request.path_params["sheet_id"])
        except KeyError:
            raise HTTPException(404, "this sheet is not open: it is finished, or was never begun") from None


def _said(request: Request) -> dict[str, Any]:
    """The JSON object that was sent; refused where it is none."""
    try:
        said = json.loads(request.scope[BODY])
    except (ValueError, RecursionError):
        raise HTTPException(400, "found something that is not JSON") from None
    if not isinstance(said, dict):
        raise HTTPException(400, "found JSON that is no object")
    return said


def _is_change(one: object) -> bool:
    return isinstance(one, list) and len(one) == 2 and all(isinstance(part, str) and len(part) < 40 for part in one)


def _begun(begun: bool) -> Response:
    if begun:
        return JSONResponse({"ok": True})
    return JSONResponse({"problem": "other work is under way: wait until it is done"}, 409)


def _problems(failed: BookError) -> Response:
    problems = [finding.line() for finding in only_errors(failed.findings)]
    return JSONResponse({"problem": "nothing was changed", "problems": problems}, 409)
