"""Alloys that nothing is known of: told where they are typed, not when a model is to be learned."""

from __future__ import annotations

from springfit.alloy_names import ALLOY_NAMES, alloys_known, own_metal
from springfit.findings import Finding
from springfit.records.book import Headers
from springfit.records.rules.error_collector import ErrorCollector, Frames

__all__ = ["alloy_findings"]


def alloy_findings(frames: Frames, headers: Headers) -> list[Finding]:
    """An error at every batch of an alloy that the table does not have."""
    errors, batches = ErrorCollector(frames, headers), frames["batches"]
    own = {name for name in set(batches["alloy"]) if name is not None and own_metal(name)}
    known = batches["alloy"].isna() | batches["alloy"].isin({*ALLOY_NAMES, *own})
    for row in batches.index[~known]:
        what = f"the alloy {batches.at[row, 'alloy']!r} is not in the table"
        remedy = "is it mistyped? Nothing can be learned of a metal whose stiffness and yield are not known"
        errors.refuse("batches", [row], "alloy", what, f"one of {alloys_known()}", remedy)
    return errors.findings
