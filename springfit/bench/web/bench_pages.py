"""The pages: what stands on each, filled into its template with every value escaped."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from springfit.bench.background.bench_jobs import report_folder
from springfit.bench.bench_shop import Shop
from springfit.bench.shop_numbers import shop_size, small_size
from springfit.bench.web import forms
from springfit.bench.web.batch_rows import batches_of
from springfit.bench.web.opening import templates, waiting_page
from springfit.bench.web.timeline import timeline_of
from springfit.records.book import Book
from springfit.records.findings_listing import findings_tally
from springfit.reporting.stored_reports import last_verdicts, newest_report
from springfit.reporting.watching_pages.glance_wording import done_words, next_at_bench
from springfit.watching.shop_glance import LastVerdict, MandrelRow, shop_at_a_glance

__all__ = ["Pages"]

# A report brings its own style and pictures and runs nothing; a paper is shown by the browser's own viewer.
_STILL = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox; frame-ancestors 'none'; base-uri 'none'"
)
_PAPER = "default-src 'none'; style-src 'unsafe-inline'; object-src 'self'; frame-ancestors 'none'; base-uri 'none'"
_REPORT_FILES = {
    "correction.html": ("text/html; charset=utf-8", _STILL),
    "correction.pdf": ("application/pdf", _PAPER),
    "card.pdf": ("application/pdf", _PAPER),
}

Endpoint = Callable[[Request], Response]


class Pages:
    """The pages of one shop."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._environment = templates()

    def addresses(self) -> dict[str, Endpoint]:
        """Every page by its address; those that tell of the book say that it is being read as long as it is."""
        of_book = {
            "/": self.start,
            "/mandrel": self.mandrel,
            "/new/batch": self.new_batch,
            "/new/mandrel": self.new_mandrel,
            "/new/target": self.new_target,
            "/new/gauge": self.new_gauge,
            "/sheet/{sheet_id}": self.sheet,
            "/doubts": self.doubts,
            "/ask": self.ask,
            "/work": self.work,
            "/report": self.report,
        }
        return {"/enter": self.enter, **{path: self._once_read(page) for path, page in of_book.items()}}

    def _once_read(self, page: Endpoint) -> Endpoint:
        def answering(request: Request) -> Response:
            return waiting_page(self._shop, self._environment) if self._shop.is_opening else page(request)

        return answering

    def start(self, request: Request) -> Response:
        """The shop at a glance."""
        read = self._shop.last_read()
        if read.book is None:
            return self._page("unreadable.html", findings=[one.line() for one in read.findings], status=200)
        return self._page(
            "start.html", rows=self._rows(read.book), gauges=list(read.book.gauges["gauge_id"]), units=read.book.units,
            sheets=self._shop.desk.open_sheets(), tally=findings_tally(read.findings), done=done_words,
            next=next_at_bench,
        )  # fmt: skip

    def enter(self, request: Request) -> Response:
        """Where the code is asked for."""
        return self._page("enter.html")

    def mandrel(self, request: Request) -> Response:
        """A mandrel's history."""
        book, mandrel_id = self._book(), self._named(request, "id")
        row = next(one for one in self._rows(book) if one.mandrel_id == mandrel_id)
        rim = shop_size(float(book.profile(mandrel_id, row.revision)[1].max()), book.units)
        wanted = book.targets.loc[book.targets["mandrel_id"] == mandrel_id, "target_id"]
        sheets = [one for one in self._shop.desk.open_sheets() if one.cells.get("mandrel_id") == mandrel_id]
        return self._page(
            "mandrel.html", reports=[self._report(str(one)) for one in wanted], row=row, rim=rim, sheets=sheets,
            batches=batches_of(book, mandrel_id, self._states(book)), units=book.units, done=done_words,
            next=next_at_bench, timeline=timeline_of(book, mandrel_id, self._states(book)),
            revisions=self._revisions(book, mandrel_id),
        )  # fmt: skip

    def new_batch(self, request: Request) -> Response:
        """A new batch, filled in from the last."""
        book, mandrel_id = self._book(), self._named(request, "mandrel")
        taken = [sheet.subject for sheet in self._shop.desk.open_sheets()]
        fields = forms.batch_fields(book, mandrel_id, datetime.date.today(), taken)
        title = f"New batch on {mandrel_id}"
        return self._form("batch", title, fields, book, fixed={"mandrel_id": mandrel_id})

    def new_mandrel(self, request: Request) -> Response:
        """A new mandrel; its stations are typed on its sheet."""
        book = self._book()
        return self._form("mandrel", "New mandrel", forms.mandrel_fields(book, datetime.date.today()), book)

    def new_target(self, request: Request) -> Response:
        """A bell that is wanted of a mandrel."""
        book, mandrel_id = self._book(), self._named(request, "mandrel")
        fields = forms.target_fields(book, mandrel_id)
        return self._form("target", f"Wanted bell of {mandrel_id}", fields, book, fixed={"mandrel_id": mandrel_id})

    def new_gauge(self, request: Request) -> Response:
        """A new gauge."""
        book = self._book()
        return self._form("gauge", "New gauge", forms.gauge_fields(book), book)

    def sheet(self, request: Request) -> Response:
        """A sheet in the making."""
        sheet_id = request.path_params["sheet_id"]
        try:
            sheet = self._shop.desk.sheet(sheet_id)
        except KeyError:
            return RedirectResponse("/", 303)
        return self._page("sheet.html", sheet=sheet)

    def doubts(self, request: Request) -> Response:
        """What the checks say of the book."""
        read = self._shop.last_read()
        return self._page("doubts.html", findings=read.findings, tally=findings_tally(read.findings))

    def ask(self, request: Request) -> Response:
        """What a change of a mandrel's process or line would give."""
        return self._page("ask.html", mandrel=self._named(request, "mandrel"))

    def work(self, request: Request) -> Response:
        """What is worked out beside the page, and what the model has not learned."""
        return self._page("work.html")

    def report(self, request: Request) -> Response:
        """One file of a wanted bell's newest report."""
        target_id, name = request.query_params.get("target", ""), request.query_params.get("file", "")
        if target_id not in set(self._book().targets["target_id"]) or name not in _REPORT_FILES:
            raise HTTPException(404, "there is no such report")
        path = report_folder(self._shop.folder, target_id) / name
        if not path.is_file():
            raise HTTPException(404, "this report was not worked out yet")
        kind, policy = _REPORT_FILES[name]
        return Response(path.read_bytes(), media_type=kind, headers={"Content-Security-Policy": policy})

    def _rows(self, book: Book) -> list[MandrelRow]:
        """The shop as `watch` shows it, with the verdicts of the book's own reports; the mandrel spun on last first."""
        rows = shop_at_a_glance(book, self._states(book), self._verdicts(book))
        return sorted(rows, key=lambda row: row.newest_on, reverse=True)

    def _verdicts(self, book: Book) -> list[LastVerdict]:
        return list(
            last_verdicts([report_folder(self._shop.folder, str(target)) for target in book.targets["target_id"]])
        )

    def _states(self, book: Book) -> Mapping[str, str]:
        return self._shop.judged.known(book.digest)

    def _revisions(self, book: Book, mandrel_id: str) -> list[dict[str, str]]:
        """When the steel was changed, newest first: what was found to be taken off, and what a report had ordered."""
        from springfit.watching.history import revisions_of  # fits curves: loaded when it is first asked for

        told = sorted((one for one in self._verdicts(book) if one.mandrel_id == mandrel_id), key=lambda v: v.written)
        return [
            {"number": str(one.revision), "day": one.day, "finish": one.finish.replace("_", " "), "note": one.note,
             "found": small_size(one.found, book.units), "ordered": small_size(one.ordered, book.units)}
            for one in reversed(revisions_of(book, mandrel_id, told))
        ]  # fmt: skip

    def _report(self, target_id: str) -> dict[str, str]:
        """Of a wanted bell: its name, and the verdict and day of its newest report, empty without one."""
        report = newest_report(report_folder(self._shop.folder, target_id), target_id)
        facts = {} if report is None else report.facts
        words = str(facts.get("verdict", "")).replace("_", " ")
        return {"target": target_id, "verdict": words, "reason": str(facts.get("reason", "")),
                "written": "" if report is None else report.written[:10]}  # fmt: skip

    def _book(self) -> Book:
        book = self._shop.last_read().book
        if book is None:
            raise HTTPException(409, "the book cannot be read: the first page says why")
        return book

    def _named(self, request: Request, name: str) -> str:
        """The mandrel that the query names; 404 where the book has none such."""
        mandrel_id = request.query_params.get(name, "")
        if mandrel_id not in set(self._book().mandrels["mandrel_id"]):
            raise HTTPException(404, "the book has no such mandrel")
        return mandrel_id

    def _form(
        self, kind: str, title: str, fields: list[forms.FormField], book: Book, *, fixed: dict[str, str] | None = None
    ) -> Response:
        return self._page(
            "form.html", kind=kind, title=title, fields=fields, units=book.units, fixed=fixed or {}, said=forms.as_said
        )

    def _page(self, name: str, *, status: int = 200, **values: Any) -> Response:
        return HTMLResponse(self._environment.get_template(name).render(**values), status)
