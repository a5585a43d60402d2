"""Where a wrong reading stands in the book: file and row of the reading nearest to the place it was found at."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from springfit.findings import Finding
from springfit.lengths import in_words
from springfit.records.book import Book
from springfit.records.reading_kinds import z_from_tail
from springfit.watching.judged_batches import JudgedBatch

__all__ = ["slip_findings"]


def slip_findings(book: Book, judged: Sequence[JudgedBatch]) -> tuple[Finding, ...]:
    """A doubt by file and row for every single wrong reading that was found after training."""
    found = []
    for one in judged:
        for named in one.named:
            if named.name != "reading_slip":
                continue
            rows = book.measurements[book.measurements["bell_id"] == named.bell_id]
            z = rows["z_mm"].to_numpy(float)
            rim = float(one.steel.z_at(one.rim_arc))
            z = z_from_tail(rows["datum"].to_numpy(object), z, rim)
            near = rows.index[int(np.argmin(np.abs(z - float(one.steel.z_at(named.at[0])))))]
            found.append(
                book.finding(
                    "doubt", "measurements", near, "value_mm",
                    what=f"bell {named.bell_id!r}: {_off(named.size, book.units)} off all its other readings",
                    expected="what its neighbours show",
                    remedy="read it again; it was not counted against the spinning",
                    subject=named.bell_id, sets_row_aside=True,
                )
            )  # fmt: skip
    return tuple(found)


def _off(size: float, units: str) -> str:
    """How far, and which way, in the unit of the book."""
    return f"{'-' if size < 0 else '+'}{in_words(abs(size), units, digits='.3f')} per side"
