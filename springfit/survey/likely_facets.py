"""Which two facets together explain a line best, wherever they lie and whatever flare is fair beside them.

Facets that are added one at a time are judged beside a flare that was learned without the others, and a flare that has
to make up for a second facet hides the first. So every two of all that are tried on the line, near or far from each
other, are asked together, each pair beside the flare that is likeliest with it: the whole table, no search.
"""

from __future__ import annotations

import numpy as np

from springfit.geometry.facets.search import Search
from springfit.geometry.facets.shapes import Term
from springfit.geometry.facets.worth import APART
from springfit.geometry.points import FloatArray

__all__ = ["likely_facets"]

PAIRS, ALONE = 4, 2  # worked out in full: of 8 pairs missed before, 7 were among the first three
EVERY = 2  # of the places that are tried: a corner half its rounding off is moved to its place afterwards
SAME = 5.0  # [mm] between places within which one shape is the same facet: twice the step they are tried at


def likely_facets(search: Search) -> list[tuple[Term, ...]]:
    """The likeliest pairs of facets and the likeliest single ones, no two alike."""
    places = set(sorted({term.place for term in search.facets})[::EVERY])
    every = [i for i, term in enumerate(search.facets) if term.place in places]
    terms = [search.facets[i] for i in every]
    if not terms:
        return []
    evidence = search.flare.evidence_of_pairs(search.facet_columns[:, every])
    place, width = (np.array([getattr(term, name) for term in terms]) for name in ("place", "width"))
    apart = place[None, :] - place[:, None]
    stand = apart >= APART * (width[:, None] + width[None, :]) / 2
    pairs = _likeliest(np.where(stand, evidence, -np.inf), terms, PAIRS)
    alone = _likeliest(np.where(np.eye(len(terms), dtype=bool), evidence, -np.inf), terms, ALONE)
    return pairs + [both[:1] for both in alone]


def _likeliest(evidence: FloatArray, terms: list[Term], count: int) -> list[tuple[Term, ...]]:
    """The pairs of most evidence, one after the other, without those like one that was taken."""
    left = evidence.copy()
    taken: list[tuple[Term, ...]] = []
    place = np.array([term.place for term in terms])
    shape = np.array([term.shape for term in terms])
    while len(taken) < count:
        i, j = divmod(int(np.argmax(left)), len(terms))
        if not np.isfinite(left[i, j]):
            break
        taken.append((terms[i], terms[j]))
        like = [(np.abs(place - place[k]) <= SAME) & (shape == shape[k]) for k in (i, j)]
        left[np.ix_(*like)] = -np.inf
    return taken
