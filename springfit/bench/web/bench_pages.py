"""The pages: what stands on each, filled into its template with every value escaped."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from importlib import resources
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from springfit.bench.bench_shop import Shop
from springfit.bench.web import forms
from springfit.bench.web.glance import batches_of, glance
from springfit.records.book import Book
from springfit.records.findings_listing import findings_tally

__all__ = ["Pages"]

Endpoint = Callable[[Request], Response]


class Pages:
    """The pages of one shop."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._environment = Environment(
            loader=FunctionLoader(_template), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
            lstrip_blocks=True,
        )  # fmt: skip

    def addresses(self) -> dict[str, Endpoint]:
        """Every page by its address."""
        return {
            "/": self.start,
            "/enter": self.enter,
            "/mandrel": self.mandrel,
            "/new/batch": self.new_batch,
            "/new/mandrel": self.new_mandrel,
            "/new/target": self.new_target,
            "/new/gauge": self.new_gauge,
            "/sheet/{sheet_id}": self.sheet,
            "/doubts": self.doubts,
        }

    def start(self, request: Request) -> Response:
        """The shop at a glance."""
        read = self._shop.last_read()
        if read.book is None:
            return self._page("unreadable.html", findings=[one.line() for one in read.findings], status=200)
        return self._page(
            "start.html", rows=glance(read.book), gauges=list(read.book.gauges["gauge_id"]), units=read.book.units,
            sheets=self._shop.desk.open_sheets(), tally=findings_tally(read.findings),
        )  # fmt: skip

    def enter(self, request: Request) -> Response:
        """Where the code is asked for."""
        return self._page("enter.html")

    def mandrel(self, request: Request) -> Response:
        """A mandrel's history."""
        book, mandrel_id = self._book(), self._named(request, "id")
        row = next(one for one in glance(book) if one.mandrel_id == mandrel_id)
        sheets = [one for one in self._shop.desk.open_sheets() if one.cells.get("mandrel_id") == mandrel_id]
        return self._page(
            "mandrel.html", row=row, batches=batches_of(book, mandrel_id), sheets=sheets, units=book.units
        )

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
        return self._page("form.html", kind=kind, title=title, fields=fields, units=book.units, fixed=fixed or {})

    def _page(self, name: str, *, status: int = 200, **values: Any) -> Response:
        return HTMLResponse(self._environment.get_template(name).render(**values), status)


def _template(name: str) -> str:
    return resources.files("springfit.bench.web").joinpath("templates", name).read_text("utf-8")
