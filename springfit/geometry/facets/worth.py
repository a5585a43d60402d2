"""What more terms would be worth beside an explanation of the stations, the flare kept as it was learned.

The worth of a term is its log Bayes factor: with prior variance one, column c and values y, both as the flare leaves
them and weighted by what is held beside, ((c y)^2 / (1 + c c) - ln(1 + c c)) / 2. It is quick, so that every place and
width can be tried; the likely ones are then worked out in full.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from springfit.geometry.facets.fair_flare import FairFlare, Learned
from springfit.geometry.facets.shapes import Term
from springfit.geometry.points import FloatArray

__all__ = ["APART", "PLACE_STEP", "Worth", "log_worth", "overlap"]

PLACE_STEP = 2.5  # [mm] between places that are tried; half the rounding of a join
LEAST_BLEND = 24.0  # [mm] between changes of curvature: a shorter arc is a facet; assumed
PAIR_REACH = 60.0  # [mm] apart that two terms are looked for together; as far as a join is felt (`shapes.JOIN_FELT`)
APART = 0.95  # of their half widths together, at least, between the middles of two tried together; assumed
LAPPED = 0.45  # of their widths together, nearer than which two are one place: 0.5 is where they touch; assumed
TRIED = 4  # likely terms that are worked out in full; a bound on time
LOOKED_AT = 60  # single terms among which likely ones at other places are sought; a bound on time
MOST_PAIRS = 2000  # pairs among which likely ones at other places are sought; a bound on time


class Worth:
    """What one or two more terms would be worth beside an explanation, the flare kept as learned."""

    def __init__(self, flare: FairFlare, learned: Learned, held: FloatArray, terms: Sequence[Term]) -> None:
        self.flare, self.learned, self.terms = flare, learned, terms
        self.held = flare.seen(learned, held).columns

    def likely(self, terms: list[Term], columns: FloatArray) -> list[list[Term]]:
        """The most worthy terms, at most TRIED, no two at one place."""
        seen = self.flare.seen(self.learned, columns)
        worth = np.where(
            [self._may_stand(term) for term in terms], log_worth(seen.left, seen.columns, self.held), -np.inf
        )
        chosen: list[Term] = []
        for i in np.argsort(-worth)[:LOOKED_AT]:
            if worth[i] > 0 and all(
                terms[i].shape != term.shape or abs(terms[i].place - term.place) > 2 * PLACE_STEP
                for term in chosen
            ):
                chosen.append(terms[i])
        return [[term] for term in chosen[:TRIED]]

    def likely_misread(self, columns: FloatArray, known: Sequence[int]) -> list[int]:
        """The station most likely misread, if any; never beside one `known` before: two side by side are steel."""
        seen = self.flare.seen(self.learned, columns)
        worth = log_worth(seen.left, seen.columns, self.held)
        for i in known:
            worth[max(i - 2, 0) : i + 3] = -np.inf
        return [int(np.argmax(worth))] if np.max(worth) > 0 else []

    def likely_pairs(self, terms: list[Term], columns: FloatArray) -> list[list[Term]]:
        """The most worthy pairs of terms near each other, at most TRIED, the flare between them their own."""
        stands = np.array([self._may_stand(term) for term in terms])
        place = np.array([term.place for term in terms])
        half = np.array([LEAST_BLEND / 2 if term.shape == "change" else term.width / 2 for term in terms])
        apart = place[None, :] - place[:, None]
        fits = (
            (apart >= APART * (half[:, None] + half[None, :]))
            & (apart <= PAIR_REACH)
            & np.outer(stands, stands)
        )
        worth = np.where(fits, self._worth_of_pairs(columns), -np.inf)
        most = min(MOST_PAIRS, worth.size - 1)
        top = np.argpartition(-worth, most, axis=None)[:most]
        chosen: list[tuple[int, int]] = []
        for pair in top[np.argsort(-worth.flat[top])]:
            i, j = divmod(int(pair), len(terms))
            if worth[i, j] <= 0 or len(chosen) == TRIED:
                break
            if all(
                max(abs(place[i] - place[a]), abs(place[j] - place[b])) > 2 * PLACE_STEP for a, b in chosen
            ):
                chosen.append((i, j))
        return [[terms[i], terms[j]] for i, j in chosen]

    def _worth_of_pairs(self, columns: FloatArray) -> FloatArray:
        """Log Bayes factor of every two columns together."""
        seen = self.flare.seen(self.learned, columns)
        free = _beside(seen.columns, self.held)
        gram, shared = free.T @ seen.columns, free.T @ seen.left
        own = 1.0 + np.diag(gram)
        determinant = np.maximum(np.outer(own, own) - gram**2, 1.0)
        explained = np.outer(shared**2, own)
        explained = (explained + explained.T - 2 * gram * np.outer(shared, shared)) / determinant
        return np.asarray(0.5 * (explained - np.log(determinant)))

    def _may_stand(self, term: Term) -> bool:
        """Whether there is room for it among the terms there are."""
        for other in self.terms:
            apart = abs(term.place - other.place)
            if term.shape == other.shape == "change" and apart < LEAST_BLEND:
                return False
            if "change" not in (term.shape, other.shape) and overlap(term, other):
                return False
        return True


def overlap(one: Term, other: Term) -> bool:
    return abs(one.place - other.place) < LAPPED * (one.width + other.width)


def _beside(columns: FloatArray, held: FloatArray) -> FloatArray:
    """Columns weighted by the inverse of unit noise plus held terms of unit prior variance."""
    if not held.shape[1]:
        return columns
    return columns - held @ np.linalg.solve(np.eye(held.shape[1]) + held.T @ held, held.T @ columns)


def log_worth(left: FloatArray, columns: FloatArray, held: FloatArray) -> FloatArray:
    """Log Bayes factor of each column of unit prior variance, beside held terms."""
    free = _beside(columns, held)
    own = 1.0 + np.sum(free * columns, axis=0)
    return np.asarray(0.5 * ((free.T @ left) ** 2 / own - np.log(own)))
