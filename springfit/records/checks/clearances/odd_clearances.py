"""Whole sheets of clearances that are another unit, both sides together, or counted from the other end."""

from __future__ import annotations

from collections.abc import Mapping

from springfit.findings import Finding
from springfit.records.book import Book
from springfit.records.checks.clearances.clearance_sheets import clearance_sheets
from springfit.records.checks.clearances.feeler_leaves import both_sides, other_leaves, too_thin
from springfit.records.checks.clearances.from_the_rim import from_the_rim
from springfit.records.checks.rough_gaps import MandrelProfile

__all__ = ["odd_clearances"]


def odd_clearances(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt, setting the bell aside, for each such sheet."""
    if not (book.measurements["kind"] == "clearance").any():
        return []
    rows = clearance_sheets(book, of)
    leaf = "a leaf of the feeler, as of the other batches'"
    said = {sheet: ("value_mm", f"fit its leaves as {was}", leaf) for sheet, was in both_sides(rows).items()}
    said |= {sheet: ("value_mm", f"fit its leaves as {was}", leaf) for sheet, was in other_leaves(rows).items()}
    said |= {
        sheet: ("value_mm", f"are thinner than any leaf: {was}", "0, or a leaf of the feeler")
        for sheet, was in too_thin(rows).items()
    }
    for sheet in from_the_rim(rows, of):
        what = "lie where other bells' do not, and among them when z is counted from the rim"
        said[sheet] = ("z_mm", what, "mandrel stations, as of the other bells'")
    first = rows.drop_duplicates("sheet")
    named = zip(first["sheet"], first.index, first["bell_id"].map(str), first["stage"].map(str), strict=True)
    return [
        book.finding(
            "doubt", "measurements", row, said[sheet][0], subject=bell, sets_aside=True,
            what=f"bell {bell!r}, {stage}: its clearances {said[sheet][1]}", expected=said[sheet][2],
            remedy="the bell is set aside until it is corrected",
        )
        for sheet, row, bell, stage in named
        if sheet in said
    ]  # fmt: skip
