"""The curve of a mandrel through its measured stations, the same for everybody who asks."""

from __future__ import annotations

import numpy as np
from joblib import Parallel, delayed

from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.records.book import Book

__all__ = ["STEEL_ERROR_MM", "STEEL_SD_MM", "draft_meridian", "steel_meridian", "steel_of_book"]

STEEL_ERROR_MM = 0.005  # 1 sd of a diameter: a micrometer on turned steel, by hand; a fifth of a thou; assumed
STEEL_SD_MM = 0.5 * STEEL_ERROR_MM  # the same per side
_FEW = 60  # profiles, a tenth of a second each, below which starting other processes costs more than it saves


def draft_meridian(z: np.ndarray, diameter: np.ndarray) -> Meridian:
    """Meridian of a draft's stations z and diameters [mm], smoothed as measured steel would be."""
    return meridian_from_stations(z, diameter, diameter_error=STEEL_ERROR_MM)


def steel_meridian(book: Book, mandrel_id: str, revision: int) -> Meridian:
    """Meridian of one revision of the steel. KeyError when the book has no such profile."""
    return draft_meridian(*book.profile(mandrel_id, revision))


def steel_of_book(book: Book) -> dict[tuple[str, int], Meridian]:
    """Meridians of every revision on which a batch was spun, by mandrel and revision."""
    pairs = book.batches[["mandrel_id", "revision"]].drop_duplicates().itertuples(index=False)
    wanted = [(str(mandrel), int(revision)) for mandrel, revision in pairs]
    if len(wanted) < _FEW:
        return {key: steel_meridian(book, *key) for key in wanted}
    made = Parallel(n_jobs=-1)(delayed(draft_meridian)(*book.profile(*key)) for key in wanted)
    return dict(zip(wanted, made, strict=True))
