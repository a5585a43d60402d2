"""A mandrel's history: a row a batch, from the book alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from springfit.records.book import Book

__all__ = ["BatchRow", "batches_of"]


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
    state: str


def batches_of(book: Book, mandrel_id: str, states: Mapping[str, str]) -> list[BatchRow]:
    """The mandrel's batches, newest first; `states` of those that were judged."""
    rows = []
    batches = book.batches[book.batches["mandrel_id"] == mandrel_id].sort_values("spun_on", ascending=False)
    every = book.bells[book.bells["batch_id"].isin(batches["batch_id"])]
    none = every.iloc[:0].assign(read=0)
    read_of = book.measurements["bell_id"]
    counts = read_of[read_of.isin(every["bell_id"])].value_counts()
    counted = every.assign(read=every["bell_id"].map(counts).fillna(0))
    of_batch = {str(name): bells for name, bells in counted.groupby("batch_id")}
    for batch in batches.itertuples():
        bells = of_batch.get(str(batch.batch_id), none)
        read = bells["read"]
        said = bells["verdict"].dropna().value_counts()
        verdicts = ", ".join(f"{count} {name}" for name, count in said.items())
        rows.append(
            BatchRow(
                str(batch.batch_id), str(batch.spun_on.date()), int(batch.revision), len(bells), int((read > 0).sum()),  # type: ignore[arg-type,union-attr]
                int(read.sum()), verdicts, states.get(str(batch.batch_id), ""),
            )
        )  # fmt: skip
    return rows
