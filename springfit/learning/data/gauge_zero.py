"""How far a gauge may be off its zero: that setting is a reading too, so by what one reading may be off.

As a gap, which is per side: half of it for a gauge that reads diameters, all of it for leaves. No more is known of a
gauge's bias beforehand.
"""

from __future__ import annotations

import pandas as pd

from springfit.records.book import Book
from springfit.records.reading_kinds import KINDS

__all__ = ["per_side", "zero_spread"]


def per_side(kinds: pd.Series) -> float:
    """What an error of 1 in the readings of one gauge, of these `kinds`, is as a gap."""
    lengths = any(KINDS[kind].of_place and not KINDS[kind].diameter for kind in kinds.unique())
    return 1.0 if lengths else 0.5


def zero_spread(book: Book) -> dict[str, float]:
    """1 sd [mm] as a gap of the bias of every gauge of `book` that was read with, in the order of its table."""
    read = book.measurements.groupby("gauge_id")["kind"]
    share = {str(gauge): per_side(kinds) for gauge, kinds in read}
    stated = zip(book.gauges["gauge_id"].astype(str), book.gauges["repeatability_mm"].astype(float), strict=True)
    return {gauge: share[gauge] * sd for gauge, sd in stated if gauge in share}
