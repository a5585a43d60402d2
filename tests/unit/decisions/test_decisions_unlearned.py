"""No cut by a model that has not learned what was measured; a model of another book is not asked at all."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import pytest

from springfit.commands.asking import mandrel_of, model_of_book
from springfit.decisions.evidence import no_evidence
from springfit.decisions.unlearned import Unlearned, unlearned
from springfit.decisions.verdict.questions import decide
from springfit.decisions.verdict.reasons import NotLearned
from springfit.findings import BookError
from springfit.learning.experience import experience_of
from springfit.learning.fitting import physics_model
from springfit.learning.memory import Memory
from springfit.learning.versions.store import ModelStore
from springfit.records.book import Book
from springfit.records.part import batch_digests
from springfit.records.reading import read_book
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.books.small_book import sheets, write
from tests.helpers.corrections.decisions_shop import case, evidence, forecaster, growing, ring

NEW = Unlearned(own=("B3",), others=("B2",))


def no_progress(said: str) -> None:
    """Nobody is told."""


def small(folder: Path) -> Book:
    return read_book(write(folder / "sheets", sheets()))[0]


def options(store: Path, **changes: object) -> argparse.Namespace:
    return argparse.Namespace(**{"store": str(store), "version": None, "train": False, **changes})


def stored(book: Book, folder: Path, learned: dict[str, str]) -> Path:
    """A store whose model remembers having learned `learned`."""
    store = ModelStore(folder)
    unread = replace(book, measurements=book.measurements[:0])  # nothing to lay: what counts is what it remembers
    model = replace(physics_model(experience_of(unread)), version="v0001")
    store.save(replace(model, memory=Memory(learned, {}, 1, "v0001", len(learned))))
    store.use("v0001")
    return folder


def test_batches_new_or_changed_are_named_those_of_the_mandrel_apart(tmp_path: Path) -> None:
    book = small(tmp_path)
    digests = batch_digests(book)
    assert not unlearned(book, digests, digests, "OAK")
    lacking = unlearned(book, digests, {"B1": digests["B1"], "B3": "another"}, "OAK")
    assert (lacking.own, lacking.others, lacking.foreign) == (("B3",), ("B2",), False)
    assert unlearned(book, digests, {"X": "1"}, "OAK").foreign
    assert not unlearned(book, digests, {}, "OAK").foreign


def test_steel_is_not_ordered_off_before_all_is_learned() -> None:
    predict = forecaster(lambda s: ring(s, at=240.0, length=120.0, depth=0.25))
    assert decide(case(predict, evidence())).verdict.verdict == "recut"
    stale = decide(case(predict, evidence(unlearned=NEW)))
    assert stale.verdict.verdict == "wait" and not stale.cut_mm.any()
    assert stale.verdict.reason == NotLearned(("B3",), ("B2",))
    said = reason_words(stale.verdict.reason, "in")
    assert "B3 of this mandrel and B2" in said and "springfit train" in said
    small_error = decide(case(forecaster(growing(0.01)), evidence(unlearned=NEW)))
    assert small_error.verdict.verdict == "leave"  # what orders nothing is said all the same


def test_a_mandrel_whose_only_batches_are_new_waits_for_learning_not_for_bells() -> None:
    nothing = replace(no_evidence(), unlearned=NEW)
    assert isinstance(decide(case(forecaster(growing(0.3)), nothing)).verdict.reason, NotLearned)


def test_the_model_of_another_book_is_refused_with_the_command_to_run(tmp_path: Path) -> None:
    book = small(tmp_path / "book")
    store = stored(book, tmp_path / "models", {"Z9": "of another shop"})
    with pytest.raises(BookError) as refused:
        model_of_book(book, (), options(store), no_progress, mandrel_id="OAK")
    line = refused.value.findings[0].line()
    assert "another book" in line and f"springfit train {book.folder} --store {store}" in line


def test_the_model_of_this_book_is_asked_and_what_it_lacks_is_named(tmp_path: Path) -> None:
    book = small(tmp_path / "book")
    digests = batch_digests(book)
    store = stored(book, tmp_path / "models", {"B1": digests["B1"]})
    _, lacking = model_of_book(book, (), options(store), no_progress, mandrel_id=mandrel_of(book, "OAK-T"))
    assert lacking.own == ("B3",) and not lacking.foreign
    whole = stored(book, tmp_path / "whole", digests)
    assert not model_of_book(book, (), options(whole), no_progress, mandrel_id="OAK")[1]
