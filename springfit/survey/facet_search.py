"""Which facets a family's common line needs: as on one line, but looked for harder and asked for less.

A line drawn from several bells is known better than any of them, and its facets are what the survey is made for. So it
is begun from every likely pair of facets, near or far from each other, beside a line that needs none, and each of those
is improved where a fair change of curvature may have taken a facet's place: one or two changes are taken out and a
facet is put there. In the end each facet still has to beat what fair explanations make of the stations without it, by
`MARGIN`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from springfit.geometry.facets.fair_flare import FairFlare
from springfit.geometry.facets.search import LEAST_DEPTH, Explanation, Search, widest
from springfit.geometry.facets.shapes import Term
from springfit.geometry.facets.worth import Worth
from springfit.survey.likely_facets import likely_facets

__all__ = ["MARGIN", "explain_family"]

# Log evidence, 4 to 1: of 60 families (seeds 200-259) 56 had both facets found, and of 25 smooth ones none a false one.
MARGIN = 1.5
NEAR = 45.0  # [mm] of a change within which a facet may be what it stands for; assumed
TOGETHER = 90.0  # [mm] apart that two changes may stand for one facet; twice `NEAR`
STARTS = 2  # likely pairs that are gone on from; a bound on time
ROUNDS = 4  # a bound on time
BETTER = 0.5  # rise of the score that is worth another round; as in the search on one line


def explain_family(flare: FairFlare) -> Explanation:
    """The likeliest explanation in which every facet is earned by the margin of a family."""
    search = FamilySearch(flare)
    likely = [search.refined(search.explanation(terms, ())) for terms in likely_facets(search)]
    likely = sorted((one for one in likely if np.isfinite(one.score)), key=lambda one: -one.score)[:STARTS]
    starts = [search.grown(one, facets=True) for one in likely]
    starts.append(search.grown(search.explanation((), ())))
    best = max((_improved(search, start) for start in starts), key=lambda one: one.score)
    while best.facets:
        rivals = {term: _without(search, best, term) for term in best.facets}
        weakest = max(best.facets, key=lambda term: rivals[term].score)
        shallow = search.shallow(best)
        if best.score - rivals[weakest].score > MARGIN and not shallow:
            break
        best = rivals[shallow[0] if shallow else weakest]
    return best


class FamilySearch(Search):
    """The search on a line drawn from several bells.

    A corner's width is hardly told: one that wants to be wider than any is asked at the widest, not given up. A facet
    too shallow for a name explains nothing, or it would take the place of a deep one of another shape.
    """

    def refined(self, rough: Explanation) -> Explanation:
        """As on one line, corners held to their widest."""
        terms = tuple(
            replace(term, width=min(term.width, widest("join"))) if term.shape == "join" else term
            for term in self.settled_terms(rough)
        )
        refined = self.explanation(terms, rough.misread)
        too_wide = any(term.width > widest(term.shape) for term in terms)
        return replace(refined, score=-np.inf) if too_wide or self.shallow(refined) else refined

    def shallow(self, one: Explanation) -> list[Term]:
        """Its facets that are too shallow for a name."""
        return [term for term, depth in self.depths(one).items() if depth < LEAST_DEPTH]


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
