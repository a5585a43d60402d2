"""Which facets a family's common line needs: as on one line, but looked for harder and asked for less.

A line drawn from several bells is known better than any of them, and its facets are what the survey is made for. So
the explanation found is improved where a fair change of curvature may have taken a facet's place: one or two changes
are taken out and a facet is put there. In the end each facet still has to beat what fair explanations make of the
stations without it, by `MARGIN`.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from springfit.geometry.facets.fair_flare import FairFlare
from springfit.geometry.facets.search import Explanation, Search, explain
from springfit.geometry.facets.shapes import Term
from springfit.geometry.facets.worth import Worth

__all__ = ["MARGIN", "explain_family"]

MARGIN = 2.5  # log evidence; at this 32 of 34 families had both facets found, and none of 37 smooth ones a false one
NEAR = 45.0  # [mm] of a change within which a facet may be what it stands for
TOGETHER = 90.0  # [mm] apart that two changes may stand for one facet
LEAST_DEPTH = 0.02  # [mm] as of any facet: less is not worth a name
ROUNDS = 4
BETTER = 0.5  # rise of the score that is worth another round


def explain_family(flare: FairFlare) -> Explanation:
    """The likeliest explanation in which every facet is earned by the margin of a family."""
    search = Search(flare)
    starts = [explain(flare), search.grown(search.explanation((), ()))]
    best = max((_improved(search, start) for start in starts), key=lambda one: one.score)
    while best.facets:
        rivals = {term: _without(search, best, term) for term in best.facets}
        weakest = max(best.facets, key=lambda term: rivals[term].score)
        shallow = [term for term, depth in search.depths(best).items() if depth < LEAST_DEPTH]
        if best.score - rivals[weakest].score > MARGIN and not shallow:
            break
        best = rivals[shallow[0] if shallow else weakest]
    return best


def _without(search: Search, best: Explanation, term: Term) -> Explanation:
    """The best fair explanation of what a facet explains, the other facets kept."""
    rest = search.explanation(best.without(term), best.misread)
    return search.relocated(search.grown(rest))


def _improved(search: Search, best: Explanation) -> Explanation:
    for _ in range(ROUNDS):
        tried = [
            one
            for fewer in _fewer(best)
            for one in _with_facet(search, search.explanation(fewer, best.misread), best)
        ]
        better = max([best, *search.best_refined(tried, 3)], key=lambda one: one.score)
        if better.score < best.score + BETTER:
            return best
        best = better
    return best


def _fewer(best: Explanation) -> Iterator[tuple[Term, ...]]:
    """The terms as they are, without each change, and without each two that are near one another."""
    yield best.terms
    changes = sorted((term for term in best.terms if term.shape == "change"), key=lambda term: term.place)
    for change in changes:
        yield best.without(change)
    for one, other in pairwise(changes):
        if other.place - one.place < TOGETHER:
            yield tuple(term for term in best.terms if term is not one and term is not other)


def _with_facet(search: Search, rest: Explanation, best: Explanation) -> Iterator[Explanation]:
    """The rest with each likely facet where a change was taken out, or anywhere when none was."""
    gone = [term.place for term in best.terms if term not in rest.terms]
    worth = Worth(search.flare, rest.learned, search.held(rest.terms, rest.misread), rest.terms)
    near = [
        i
        for i, term in enumerate(search.facets)
        if not gone or min(abs(term.place - at) for at in gone) < NEAR
    ]
    terms, columns = [search.facets[i] for i in near], search.facet_columns[:, near]
    for more in worth.likely(terms, columns):
        yield search.explanation((*rest.terms, *more), rest.misread)
