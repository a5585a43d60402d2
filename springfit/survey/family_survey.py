"""A family of originals surveyed: the common line with its facets, spread and tolerance, ready to be a target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from springfit.findings import BookError, Finding
from springfit.geometry.points import Points
from springfit.lengths import in_words
from springfit.records.book import Book
from springfit.survey.consensus import Consensus, consensus_of
from springfit.survey.differences import (
    OwnDifference,
    Spread,
    own_differences,
    proposed_tolerance,
    spread_of,
)
from springfit.survey.lining_up import first_slides
from springfit.survey.pieces import Piece, pieces_of
from springfit.survey.shared_facets import SharedFacet, shared_facets
from springfit.survey.specimens import Specimen, specimens_of

__all__ = ["Survey", "survey_family"]

STATION_STEP = 2.0  # [mm] of arc between the rows that are written, as other tables of the program have them
ANOTHER_BELL = 0.6  # [mm] along the axis, the middle of a flare from the others: wear and buffing leave 0.1
ANOTHER_FAMILY = (
    0.25  # [mm] median distance from the others past slide and offset: ten times what buffing leaves
)


@dataclass(frozen=True)
class Survey:
    """What a family of originals says. tolerance [mm] normal, per side; tolerance_known: whether a spread bears it out.

    stations: places every 2 mm along the consensus, on which the spread stands.
    """

    family: str
    consensus: Consensus
    stations: Points
    spread: Spread
    facets: tuple[SharedFacet, ...]
    pieces: tuple[Piece, ...]
    differences: tuple[OwnDifference, ...]
    tolerance: float
    tolerance_known: bool
    findings: tuple[Finding, ...]
    book_digest: str

    @property
    def target_id(self) -> str:
        """The id under which the consensus is written as a target."""
        return f"{self.family}-survey"

    @property
    def odd(self) -> OwnDifference | None:
        """How the odd specimen differs; None where none stands out."""
        return next((one for one in self.differences if one.odd), None)


def survey_family(book: Book, family: str) -> Survey:
    """The survey of a family. Raises BookError when no specimen of it can be used."""
    specimens, findings = specimens_of(book, family)
    consensus, doubts = _of_one_family(book, specimens)
    line = consensus.line
    stations = line.at(np.linspace(0.0, line.length, int(np.ceil(line.length / STATION_STEP)) + 1))
    facets = shared_facets(consensus)
    spread = spread_of(consensus, stations.s)
    tolerance, known = proposed_tolerance(spread)
    spacing = float(np.median(np.hypot(np.diff(consensus.z), np.diff(consensus.r))))
    return Survey(
        family, consensus, stations, spread, facets,
        pieces_of(line, float(np.median(consensus.error)), spacing),
        own_differences(consensus, facets), tolerance, known, (*findings, *doubts), book.digest,
    )  # fmt: skip


def _of_one_family(book: Book, specimens: Sequence[Specimen]) -> tuple[Consensus, list[Finding]]:
    """The consensus of those that belong together, and a doubt for each that does not."""
    specimens, doubts = _without_other_bells(book, specimens)
    while True:
        try:
            consensus = consensus_of(specimens)
        except ValueError as unfit:
            raise BookError([_no_line(specimens, unfit)]) from None
        away = np.array([_away(consensus, i) for i in range(len(specimens))])
        worst = int(np.argmax(away))
        if len(specimens) == 1 or away[worst] < ANOTHER_FAMILY:
            return consensus, doubts
        doubts.append(_stranger(book, specimens[worst], float(away[worst]), alone=len(specimens) == 2))
        specimens = [one for i, one in enumerate(specimens) if i != worst]


def _without_other_bells(
    book: Book, specimens: Sequence[Specimen]
) -> tuple[Sequence[Specimen], list[Finding]]:
    """The specimens without those whose whole flare is another, too far from the others to be lined up with them."""
    doubts: list[Finding] = []
    while len(specimens) > 2:
        apart = first_slides(specimens)[1]
        worst = int(np.argmax(apart))
        if apart[worst] < ANOTHER_BELL:
            break
        doubts.append(_stranger(book, specimens[worst], float(apart[worst]), alone=False))
        specimens = [one for i, one in enumerate(specimens) if i != worst]
    return specimens, doubts


def _no_line(specimens: Sequence[Specimen], unfit: ValueError) -> Finding:
    what = f"the specimens {', '.join(one.specimen_id for one in specimens)} follow no common line ({unfit})"
    return Finding("error", "specimen_points", None, None, what, "bells of one family, z from the tail")


def _away(consensus: Consensus, number: int) -> float:
    """Median distance [mm] of a specimen's stations from the consensus; those past its ends count as far."""
    off = consensus.lined.off[number] + consensus.lined.waved(
        number, np.nan_to_num(consensus.lined.arc[number])
    )
    return float(np.median(np.where(np.isfinite(off), np.abs(off), np.inf)))


def _stranger(book: Book, one: Specimen, away: float, *, alone: bool) -> Finding:
    row = book.specimens.index[book.specimens["specimen_id"] == one.specimen_id][0]
    much = in_words(away, book.units, digits=".2f") if np.isfinite(away) else "altogether"
    within = in_words(ANOTHER_FAMILY, book.units)
    remedy = "left out: is it of another family?"
    if alone:
        remedy += " Two specimens cannot say which of them it is"
    return book.finding(
        "doubt", "specimens", row, "family", what=f"{one.specimen_id}: its shape is off by {much} in the middle of it",
        expected=f"bells of one family within {within}", remedy=remedy, subject=one.specimen_id,
        sets_aside=True,
    )  # fmt: skip
