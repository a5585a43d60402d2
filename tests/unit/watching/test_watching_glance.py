"""The shop at a glance: a row a mandrel, and the one step that comes next."""

from __future__ import annotations

from dataclasses import replace

import pytest

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.records.book import Book
from springfit.records.reading import read_book
from springfit.watching.shop_glance import LastVerdict, shop_at_a_glance


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Two mandrels, two batches each."""
    folder = tmp_path_factory.mktemp("glance")
    write_book(make_shop(3, batches=4, mandrels=2, bells=2).tables, folder, units="mm")
    return read_book(folder)[0]


def _told(verdict: str, **more: object) -> LastVerdict:
    return replace(LastVerdict("M1", 0, "M1-T", verdict, "2023-04-01T10:00:00"), **more)  # type: ignore[arg-type]


def test_every_mandrel_has_a_row_with_its_newest_batch(book: Book) -> None:
    rows = shop_at_a_glance(book, {"S003": "watch"})
    assert [row.mandrel_id for row in rows] == ["M1", "M2"]
    assert (rows[0].newest_batch, rows[0].state, rows[1].state) == ("S003", "watch", "")
    assert (rows[0].batches, rows[0].bells, rows[0].next_step) == (2, 4, "judge")


@pytest.mark.parametrize(
    ("verdict", "done", "step"),
    [("recut", "due", "cut"), ("leave", "nothing", "carry_on"), ("wait", "nothing", "spin_more"),
     ("process", "nothing", "find_cause")],
)  # fmt: skip
def test_the_next_step_follows_the_last_verdict(book: Book, verdict: str, done: str, step: str) -> None:
    row = shop_at_a_glance(book, {}, [_told("leave", written="2022-01-01"), _told(verdict)])[0]
    assert (row.done, row.next_step) == (done, step)


def test_a_batch_that_is_not_normal_comes_before_steel(book: Book) -> None:
    assert shop_at_a_glance(book, {"S003": "stop"}, [_told("recut")])[0].next_step == "find_cause"


def test_a_verdict_that_did_not_see_the_newest_batch_is_asked_again(book: Book) -> None:
    assert shop_at_a_glance(book, {}, [_told("leave", batches=("S001",))])[0].next_step == "judge"
