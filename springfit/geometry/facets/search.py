"""Which terms a mandrel's curvature needs: facets have to be earned against every fair explanation.

Terms are added one or two at a time while that raises the log evidence by more than their price (a Bayes factor has
its own for free sizes; the price is for the many places that were looked at). Fair explanations compete for the same
stations: smooth changes from one arc to the next, no nearer than a blend, and single stations that are misread. In the
end each facet has to beat, by a margin, what the fair explanations make of the stations without it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.optimize import minimize, minimize_scalar

from springfit.geometry.facets.fair_flare import FairFlare, Learned
from springfit.geometry.facets.shapes import Shape, Term
from springfit.geometry.facets.worth import PLACE_STEP, Worth, log_worth, overlap
from springfit.geometry.points import FloatArray

__all__ = ["LEAST_DEPTH", "Explanation", "Search", "explain", "explain_alike", "widest"]

PRICE = 4.5  # of a term: about the logarithm of the places and widths that differ along a bell
MARGIN = 7.0  # log evidence by which a facet has to be the better explanation: 1000 to 1
LEAST_DEPTH = 0.02  # [mm] a facet less deep than a thou is not worth a name
# Widths [mm] first tried, and between which they are refined: corners are rounded by a tool of some mm, a shallow dish
# is 38 mm long (1.5 in); assumed.
WIDTHS: dict[Shape, tuple[float, ...]] = {"join": (3.0, 6.0), "hollow": (16.0, 22.0, 30.0, 38.0)}
BOUNDS: dict[Shape, tuple[float, float]] = {"join": (2.0, 7.0), "hollow": (12.0, 44.0)}
AT_BOUND = 0.97  # of the widest: what wants to be as wide is no facet; assumed
END_ROOM = 12.0  # [mm] of flare that a facet needs beside it; assumed
MISREAD = 0.1  # [mm] 1 sd of a misread station beforehand; four thou; assumed
MOST_TERMS = 12  # a bound on time
CHANGE_ROOM = 1.5 * PLACE_STEP  # [mm] either way of where a change is tried: past the next places, not to those after
FARTHEST = 19.0  # [mm] that a term is moved from where it was first tried; half a dish
# First steps of place [mm] and ln of width, a part of `PLACE_STEP` and of what parts two widths; how near to the best
# place [mm] a change is brought, to the best place, width and worth a facet, all told less finely; a bound on time
FIRST_STEPS, NEAR_CHANGE, NEAR_FACET, MOST_TRIES = (1.5, 0.15), 0.05, 0.02, 60
SETTLED = 0.5  # rise of the score that is worth another round; half a nat decides nothing


@dataclass(frozen=True)
class Explanation:
    """Terms, numbers of the stations that are misread, what was learned beside them, log evidence less all prices."""

    terms: tuple[Term, ...]
    misread: tuple[int, ...]
    learned: Learned
    score: float

    @property
    def facets(self) -> tuple[Term, ...]:
        """The terms that are no fair change."""
        return tuple(term for term in self.terms if term.shape != "change")

    def without(self, term: Term) -> tuple[Term, ...]:
        """The other terms."""
        return tuple(other for other in self.terms if other is not term)


def explain(flare: FairFlare) -> Explanation:
    """The likeliest explanation of the stations in which every facet is earned."""
    search = Search(flare)
    nothing = search.explanation((), ())
    best = search.grown(search.grown(nothing, facets=True, changes=False), facets=True)
    best = search.exchanged(best)
    while best.facets:
        rests = {term: search.explanation(best.without(term), best.misread) for term in best.facets}
        rivals = {term: search.relocated(search.grown(rest)) for term, rest in rests.items()}
        weakest = max(best.facets, key=lambda term: rivals[term].score)
        shallow = [term for term, depth in search.depths(best).items() if depth < LEAST_DEPTH]
        if best.score - rivals[weakest].score > MARGIN and not shallow:
            break
        best = rivals[shallow[0] if shallow else weakest]
    plain = search.grown(nothing)
    plain = search.relocated(plain) if best.facets else plain
    return best if best.score - plain.score > MARGIN else plain


def explain_alike(flare: FairFlare, best: Explanation, facets: tuple[Term, ...]) -> Explanation:
    """The stations explained by the facets of another line, unless `best`, their own, is the better by the margin.

    One shape can often be told in two ways, as a corner and a band or as two bands: lines that are to be compared
    should be told in the same.
    """
    search = Search(flare)
    if not facets or not best.facets or not all(search.has_room(term) for term in facets):
        return best
    alike = search.relocated(search.grown(search.explanation(facets, best.misread)))
    alike = max(alike, search.refined(alike), key=lambda one: one.score)
    shallow = min(search.depths(alike).values()) < LEAST_DEPTH
    return best if shallow or best.score - alike.score > MARGIN else alike


class Search:
    """All terms that are tried on one flare, their columns worked out once."""

    def __init__(self, flare: FairFlare) -> None:
        self.flare = flare
        places = np.arange(flare.s[0] + END_ROOM, flare.s[-1] - END_ROOM, PLACE_STEP)
        tried = [
            Term(shape, float(at), width) for shape, many in WIDTHS.items() for width in many for at in places
        ]
        self.facets = [term for term in tried if self.has_room(term)]
        self.changes = [Term("change", float(place), 0.0) for place in places]
        self.facet_columns, self.change_columns = self.columns(self.facets), self.columns(self.changes)
        self.misreadings = np.diag(MISREAD / flare.sigma)

    def columns(self, terms: Iterable[Term]) -> FloatArray:
        """(stations, terms), of unit prior variance."""
        grid, terms = self.flare.grid, tuple(terms)
        shape = (len(terms), grid.size)
        curvature = np.array([term.usual * term.curvature(grid) for term in terms]).reshape(shape)
        turned = np.array([term.usual * term.turned(grid) for term in terms]).reshape(shape)
        return self.flare.turned_rows(curvature.T, turned.T)

    def held(self, terms: Iterable[Term], misread: tuple[int, ...]) -> FloatArray:
        """(stations, terms and misread stations), of unit prior variance."""
        return np.hstack((self.columns(terms), self.misreadings[:, list(misread)]))

    def explanation(self, terms: tuple[Term, ...], misread: tuple[int, ...]) -> Explanation:
        """What these terms and misread stations explain."""
        learned = self.flare.learned(self.held(terms, misread))
        return Explanation(terms, misread, learned, learned.evidence - PRICE * (len(terms) + len(misread)))

    def depths(self, one: Explanation) -> dict[Term, float]:
        """Depth [mm] of each facet of an explanation."""
        sizes, _ = self.flare.seen(one.learned, self.held(one.terms, one.misread)).sizes()
        found = zip(one.terms, sizes[: len(one.terms)], strict=True)
        return {term: term.depth(term.usual * float(size)) for term, size in found if term.shape != "change"}

    def grown(self, start: Explanation, *, facets: bool = False, changes: bool = True) -> Explanation:
        """The explanation with terms of the allowed kinds added while that makes it better."""
        best = start
        while len(best.terms) + len(best.misread) < MOST_TERMS:
            found = self._richer_by_changes(best) if changes else []
            found += self._richer_by_facets(best) if facets else []
            richer = max(found, key=lambda one: one.score, default=best)
            if richer.score <= best.score:
                break
            best = richer
        return best

    def exchanged(self, now: Explanation) -> Explanation:
        """Each term exchanged for a facet at its place, instead of all that overlaps that, where it is likelier."""
        best = now
        for term in now.terms:
            if term in best.terms:
                others = [Term(shape, term.place, width) for shape, many in WIDTHS.items() for width in many]
                tried = [self._instead(best, term, other) for other in others if self.has_room(other)]
                best = max([best, *self.best_refined(tried, 2)], key=lambda one: one.score)
        return best

    def relocated(self, now: Explanation) -> Explanation:
        """Each change taken out and put back where it is likeliest."""
        best, before = now, -np.inf
        while best.score > before + SETTLED:
            before = best.score
            for term in best.terms:
                if term.shape == "change" and term in best.terms:
                    rest = self.explanation(best.without(term), best.misread)
                    more = self._worth(rest).likely(self.changes, self.change_columns)
                    tried = [self.explanation((*rest.terms, *one), rest.misread) for one in more]
                    best = max([best, rest, *self.best_refined(tried, 2)], key=lambda one: one.score)
        return best

    def settled(self, term: Term, learned: Learned, beside: FloatArray, values: FloatArray | None = None) -> Term:
        """The term at the place where it is worth most, a facet of the width too; beside: as the flare leaves it."""
        low, high = BOUNDS.get(term.shape, (0.0, np.inf))

        def cost(place: float, width: float) -> float:
            moved = replace(term, place=place, width=width)
            far = abs(place - term.place) > FARTHEST
            if far or not low <= width <= high or not self.has_room(moved):
                return 1e9
            seen = self.flare.seen(learned, self.columns([moved]), values)
            return -float(log_worth(seen.left, seen.columns, beside)[0])

        if term.shape == "change":
            near = (term.place - CHANGE_ROOM, term.place + CHANGE_ROOM)
            best = minimize_scalar(cost, bounds=near, args=(0.0,), method="bounded", options={"xatol": NEAR_CHANGE})
            return replace(term, place=float(best.x))
        start = np.vstack((np.zeros(2), np.diag(FIRST_STEPS)))
        options: Any = {"initial_simplex": start, "xatol": NEAR_FACET, "fatol": NEAR_FACET, "maxfev": MOST_TRIES}

        def cost_of_step(step: FloatArray) -> float:
            return cost(term.place + float(step[0]), term.width * float(np.exp(step[1])))

        move, wider = minimize(cost_of_step, start[0], method="Nelder-Mead", options=options).x
        return replace(term, place=term.place + float(move), width=term.width * float(np.exp(wider)))

    def _richer_by_changes(self, now: Explanation) -> list[Explanation]:
        worth, terms, columns = self._worth(now), self.changes, self.change_columns
        more = worth.likely(terms, columns) + worth.likely_pairs(terms, columns)
        tried = [self.explanation((*now.terms, *terms), now.misread) for terms in more]
        misread = worth.likely_misread(self.misreadings, now.misread)
        return self.best_refined(tried, 2) + [
            self.explanation(now.terms, (*now.misread, i)) for i in misread
        ]

    def _richer_by_facets(self, now: Explanation) -> list[Explanation]:
        worth, terms, columns = self._worth(now), self.facets, self.facet_columns
        more = worth.likely(terms, columns) + worth.likely_pairs(terms, columns)
        more += [[*terms, *_changes_at(terms)] for terms in more if _changes_at(terms)]
        return self.best_refined([self.explanation((*now.terms, *terms), now.misread) for terms in more], 3)

    def _worth(self, now: Explanation) -> Worth:
        return Worth(self.flare, now.learned, self.held(now.terms, now.misread), now.terms)

    def _instead(self, now: Explanation, term: Term, other: Term) -> Explanation:
        rest = (one for one in now.without(term) if one.shape == "change" or not overlap(one, other))
        return self.explanation((*rest, other), now.misread)

    def best_refined(self, tried: list[Explanation], count: int) -> list[Explanation]:
        """The likeliest few of those tried, each refined."""
        return [self.refined(one) for one in sorted(tried, key=lambda one: -one.score)[:count]]

    def refined(self, rough: Explanation) -> Explanation:
        """Every term moved, and facets widened, to where they are worth most, the flare kept as learned."""
        refined = self.explanation(self.settled_terms(rough), rough.misread)
        too_wide = any(term.width > widest(term.shape) for term in refined.terms)
        return replace(refined, score=-np.inf) if too_wide else refined

    def settled_terms(self, rough: Explanation) -> tuple[Term, ...]:
        """The terms of an explanation where they are worth most, one after the other, twice."""
        terms = list(rough.terms)
        for _ in range(2):
            for i, term in enumerate(terms):
                beside = self.flare.seen(
                    rough.learned, self.held([*terms[:i], *terms[i + 1 :]], rough.misread)
                )
                terms[i] = self.settled(term, rough.learned, beside.columns)
        return tuple(terms)

    def has_room(self, term: Term) -> bool:
        """Whether the line goes on far enough beside a term."""
        room = max(END_ROOM, term.width / 2)
        return bool(self.flare.s[0] + room <= term.place <= self.flare.s[-1] - room)


def widest(shape: Shape) -> float:
    """Width [mm] above which what is found is no facet of that shape."""
    return AT_BOUND * BOUNDS.get(shape, (0.0, np.inf))[1]


def _changes_at(terms: list[Term]) -> list[Term]:
    """The changes from one arc to the next that the joins among the terms may have."""
    return [Term("change", term.place, 0.0) for term in terms if term.shape == "join"]
