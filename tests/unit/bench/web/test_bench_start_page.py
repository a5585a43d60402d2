"""The first page of the bench: the shop at a glance as `watch` has it, with the verdicts of the book's own reports."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.requests import Request

from springfit.bench.bench_shop import Shop
from springfit.bench.web.bench_pages import Pages
from tests.helpers.books.small_book import sheets, write


def page(folder: Path, address: str, query: str = "") -> str:
    """The text of one page of a book."""
    pages = Pages(Shop(folder, folder / "models"))
    request = Request({"type": "http", "method": "GET", "path": address, "query_string": query.encode(), "headers": []})
    return bytes(pages.addresses()[address](request).body).decode()


def report(folder: Path, revision: int, verdict: str, batches: list[str]) -> None:
    out = folder / "reports" / "OAK-T"
    out.mkdir(parents=True)
    facts = {
        "mandrel_id": "OAK", "revision": revision, "target_id": "OAK-T", "verdict": verdict, "batches": batches,
        "written": "2025-06-02T10:00:00", "largest_cut_mm": 0.1, "reason": "because",
    }  # fmt: skip
    (out / "verdict.json").write_text(json.dumps(facts))


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write(tmp_path / "book", sheets())


def test_a_mandrel_without_a_report_asks_for_one(book: Path) -> None:
    told = page(book, "/")
    oak, ash = told.index(">OAK</span>"), told.index(">ASH</span>")
    assert oak < ash, "the mandrel spun on last comes first"
    assert 'Revision 1 since <span class="day">2025-05-01</span>' in told
    assert "1 bell measured, 1 batch (of all revisions 3 and 2)" in told
    assert "2025-06-01:" in told and ">B3, " in told
    assert told.count("work out its report<") == 2 and "springfit correct" not in told


@pytest.mark.parametrize(
    ("revision", "verdict", "batches", "told"),
    [
        (1, "recut", ["B1", "B3"], ("recut", "not done yet", "change the steel as the report says<")),
        (0, "recut", ["B1"], ("recut", "a later revision is in the book", "work out its report<")),
        (1, "leave", ["B1"], ("leave", "nothing was to be done", "work out its report<")),
        (1, "new_flare", ["B1", "B3"], ("new flare", "not done yet", "change the steel as the report says<")),
        (1, "wait", ["B1", "B3"], ("wait", "spin and measure more batches<")),
    ],
)
def test_the_last_verdict_and_what_comes_next(
    revision: int, verdict: str, batches: list[str], told: tuple[str, ...], book: Path
) -> None:
    report(book, revision, verdict, batches)
    said = page(book, "/")
    card = said[said.index(">OAK</span>") : said.index(">ASH</span>")]
    assert all(words in card for words in ("2025-06-02,</span> OAK-T", *told))
    assert told[-1] in page(book, "/mandrel", "id=OAK"), "the mandrel's own page says the same"
