"""Plausibility: what can be typed but hardly be true, each mistake by its name; a new check is one line."""

from __future__ import annotations

from springfit.findings import Finding
from springfit.records.book import Book
from springfit.records.checks.clearances.odd_clearances import odd_clearances
from springfit.records.checks.copied_sheets import copied_sheets
from springfit.records.checks.gauge_bias import biased_gauges
from springfit.records.checks.mistakes import sheets_off_the_steel
from springfit.records.checks.odd_batches import odd_batches, revisions_to_come
from springfit.records.checks.odd_gauges import gauges_of_another_kind, odd_balls, odd_gauges
from springfit.records.checks.odd_labels import odd_labels
from springfit.records.checks.odd_lines import odd_lines
from springfit.records.checks.odd_targets import odd_targets
from springfit.records.checks.repeats import out_of_round, repeated_rows, split_sheets
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps
from springfit.records.checks.slid_sheets import slid_sheets
from springfit.records.checks.slips.reading_slips import reading_slips
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.records.checks.slips.size_slips import size_doubts
from springfit.records.checks.unusual_sizes import (
    changed_steel,
    odd_bell_walls,
    odd_readings,
    odd_rims,
    unusual_sizes,
)

__all__ = ["doubts"]


def doubts(book: Book) -> tuple[Finding, ...]:
    """Every doubt and note about a book that has no errors; a doubt with `sets_aside` leaves its bell out."""
    typed = mandrel_profiles(book)
    sizes = size_doubts(book, typed)
    # A size of the steel that is in doubt is no witness against the readings beside it.
    of = mandrel_profiles(without_doubted_rows(book, sizes)) if any(f.sets_row_aside for f in sizes) else typed
    readings = rough_gaps(book, of)
    off_the_steel = sheets_off_the_steel(book, readings, of)
    named = {finding.subject for finding in off_the_steel}
    sound = readings[~readings["bell_id"].isin(named)]
    return (
        *off_the_steel,
        *slid_sheets(book, sound, of),
        *odd_lines(book, of),
        *reading_slips(book, sound, of),
        *sizes,
        *odd_targets(book),
        *odd_readings(book),
        *odd_bell_walls(book),
        *odd_clearances(book, of),
        *copied_sheets(book),
        *repeated_rows(book),
        *split_sheets(book),
        *out_of_round(book, sound),
        *biased_gauges(book, sound),
        *unusual_sizes(book),
        *odd_rims(book, of),
        *odd_batches(book, of),
        *odd_labels(book),
        *odd_gauges(book),
        *gauges_of_another_kind(book),
        *odd_balls(book, sound, of),
        *changed_steel(book, typed),
        *revisions_to_come(book),
    )
