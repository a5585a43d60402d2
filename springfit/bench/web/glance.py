"""The shop at a glance: a row a mandrel, from the book alone."""

from __future__ import annotations

from dataclasses import dataclass

from springfit.bench.shop_numbers import shop_number
from springfit.records.book import Book

__all__ = ["BatchRow", "MandrelRow", "batches_of", "glance"]


@dataclass(frozen=True)
class MandrelRow:
    """One mandrel: how many batches and bells were spun on it, the newest batch and its day, rim size, wanted bells."""

    mandrel_id: str
    revision: int
    rim: str
    batches: int
    bells: int
    newest: str
    newest_day: str
    targets: tuple[str, ...]


@dataclass(frozen=True)
class BatchRow:
    """One batch: its bells, how many of them were measured and how many readings there are."""

    batch_id: str
    day: str
    revision: int
    bells: int
    measured: int
    readings: int
    verdicts: str


def glance(book: Book) -> list[MandrelRow]:
    """Every mandrel of the book, the one spun on last first."""
    rows = []
    for mandrel, each in book.mandrels.groupby("mandrel_id", sort=False):
        revision = int(each["revision"].max())
        batches = book.batches[book.batches["mandrel_id"] == mandrel].sort_values("spun_on", kind="stable")
        bells = book.bells["batch_id"].isin(batches["batch_id"]).sum()
        newest = batches.iloc[-1] if len(batches) else None
        rim = shop_number(float(book.profile(str(mandrel), revision)[1].max()), book.units)
        targets = book.targets[book.targets["mandrel_id"] == mandrel]["target_id"]
        rows.append(
            MandrelRow(
                str(mandrel), revision, rim, len(batches), int(bells),
                "" if newest is None else str(newest["batch_id"]),
                "" if newest is None else str(newest["spun_on"].date()), tuple(map(str, targets)),
            )
        )  # fmt: skip
    return sorted(rows, key=lambda row: row.newest_day, reverse=True)


def batches_of(book: Book, mandrel_id: str) -> list[BatchRow]:
    """The mandrel's batches, newest first."""
    rows = []
    batches = book.batches[book.batches["mandrel_id"] == mandrel_id].sort_values("spun_on", ascending=False)
    counts = book.measurements["bell_id"].value_counts()
    for batch in batches.itertuples():
        bells = book.bells[book.bells["batch_id"] == batch.batch_id]
        read = counts.reindex(bells["bell_id"]).fillna(0)
        said = bells["verdict"].dropna().value_counts()
        verdicts = ", ".join(f"{count} {name}" for name, count in said.items())
        rows.append(
            BatchRow(
                str(batch.batch_id), str(batch.spun_on.date()), int(batch.revision), len(bells), int((read > 0).sum()),  # type: ignore[arg-type,union-attr]
                int(read.sum()), verdicts,
            )
        )  # fmt: skip
    return rows
