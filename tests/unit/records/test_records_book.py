"""The Book: frames with every column, profiles, revisions by day, conditions, and a digest of what is said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.records import Book, read_book
from springfit.records.book import revision_on
from springfit.records.tables import TABLES
from tests.helpers.books.small_book import OAK, PLATING, diameter, sheets, write


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return read_book(write(tmp_path / "book", sheets()))[0]


def test_frames_have_every_declared_column_of_its_kind(book: Book) -> None:
    for name, table in TABLES.items():
        frame = getattr(book, name)
        for column in table.columns:
            kind = frame[column.frame_name].dtype
            assert kind == (
                float if column.numeric else "datetime64[ns]" if column.kind == "date" else object
            )
        assert {"source_file", "source_row"} <= set(frame.columns)
    assert book.bells["note"].tolist() == [None] * 4 and np.isnan(book.bells["wall_mm"]).all()
    assert book.measurements["source_row"].tolist() == list(range(2, len(book.measurements) + 2))


def test_profiles_are_read_only_and_of_their_revision(book: Book) -> None:
    z, bare = book.profile("OAK", 0)
    _, plated = book.profile("OAK", 1)
    np.testing.assert_allclose(bare, [diameter(OAK, at) for at in z], atol=1e-4)
    np.testing.assert_allclose(plated - bare, PLATING, atol=1e-9)
    with pytest.raises(ValueError, match="read-only"):
        z[0] = 1.0
    for unknown in (("OAK", 2), ("YEW", 0)):
        with pytest.raises(KeyError, match="no profile"):
            book.profile(*unknown)
    assert len(book.target_profile_of("OAK-T")[0]) == len(z)


@pytest.mark.parametrize(
    ("day", "revision"), [("2025-01-01", 0), ("2025-04-30", 0), ("2025-05-01", 1), ("2030-01-01", 1)]
)
def test_revision_of_a_day(day: str, revision: int, book: Book) -> None:
    assert revision_on(book.mandrels, "OAK", pd.Timestamp(day)) == revision
    assert revision_on(book.mandrels, "OAK", pd.Timestamp("2024-12-31")) is None


def test_batches_join_the_revision_of_their_day(book: Book) -> None:
    assert book.batches["revision"].tolist() == [0, 0, 1]


def test_a_batch_of_the_day_of_a_change_may_name_either_revision(tmp_path: Path) -> None:
    for revision, expected in (("", 1), ("0", 0), ("1", 1)):
        rows = sheets()
        rows["batches.csv"][0].append("revision")
        for row in rows["batches.csv"][1:]:
            row.append(revision if row[0] == "B3" else "")
        rows["batches.csv"][3][1] = "2025-05-01"
        read, _ = read_book(write(tmp_path / f"book-{revision}", rows))
        assert read.batches["revision"].tolist() == [0, 0, expected]


def test_conditions_and_newest_batch(book: Book) -> None:
    conditions = book.conditions("B2")
    assert (conditions.name, conditions.temper, conditions.passes, conditions.hump) == ("B2", None, 2, None)
    assert book.newest_batch("OAK") == "B3"
    for ask in (book.conditions, book.newest_batch):
        with pytest.raises(KeyError):
            ask("none")


def test_what_changed_between_revisions_is_noted(tmp_path: Path) -> None:
    _, findings = read_book(write(tmp_path / "book", sheets()))
    (note,) = findings
    assert (note.grade, note.file, note.row) == ("note", "mandrels.csv", 3)
    assert "revision 1 against 0: diameter +0.020 mm" in note.what


def test_optional_tables_may_be_left_out(tmp_path: Path) -> None:
    rows = sheets()
    for name in ("targets.csv", "target_profile.csv"):
        del rows[name]
    del rows["measurements.csv"][1:], rows["gauges.csv"]
    book, _ = read_book(write(tmp_path / "book", rows))
    assert len(book.targets) == len(book.gauges) == len(book.measurements) == 0
