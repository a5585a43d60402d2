"""Facets of a measured line: where it departs from the fair flare around it, by how much, and on what stations.

Four kinds. Narrow ones, where two arcs join: a *join* (a hollow corner) and a *ridge* (a corner that stands out). Wide
ones, let into an arc: a *dish* (a shallow hollow) and a *crown* (a band that stands out). How they are told from a
flare's own curve is in `fair_flare` and `facet_search`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import CubicSpline

from springfit.geometry.facets.fair_flare import FairFlare
from springfit.geometry.facets.search import Explanation, Search, explain, explain_alike
from springfit.geometry.facets.shapes import Term
from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["FEWEST_STATIONS", "Facet", "FacetFinder"]

# Fewer leave nothing to tell a facet from the flare with; a quarter inch apart on the shortest line
FEWEST_STATIONS = 16
SHORTEST_LINE = 100.0  # [mm]: a shorter one is no more than a facet and its neighbourhood
# At least, over the length a depth is read over, or the depth is a guess; two stations on either flank
SPACINGS_ACROSS = 4.0
KINDS = {
    ("join", True): "join",
    ("join", False): "ridge",
    ("hollow", True): "dish",
    ("hollow", False): "crown",
}


@dataclass(frozen=True)
class Facet:
    """One facet: its kind, arc `s` and station `z` of its middle [mm].

    depth [mm]: of a dish, of a crown's height, of a corner under a straightedge of 38 mm, beyond what the flare's own
    curve gives, with depth_error (1 sd, the flare's included). width [mm]: of the rounding of a corner at half height,
    else from edge to edge. kink [rad]: between its flanks, + hollow. spacing [mm of arc] of the stations there, and the
    widest that tells its depth.
    """

    kind: str
    s: float
    z: float
    depth: float
    depth_error: float
    width: float
    kink: float
    spacing: float
    widest_spacing: float

    @property
    def tells_depth(self) -> bool:
        """Whether the stations are close enough for a depth; the place is good either way."""
        return self.spacing <= self.widest_spacing

    @property
    def tells_width(self) -> bool:
        """Whether the stations are close enough for a width."""
        return self.tells_depth and self.spacing <= self.width

    @property
    def term(self) -> Term:
        """The shape it was measured as."""
        return Term("join" if self.kind in ("join", "ridge") else "hollow", self.s, self.width)

    def deepened(self, s: FloatArray, more: float) -> FloatArray:
        """Normal motion [mm] of a line at arcs `s` from end to end that makes the facet deeper by `more` [mm].

        Beside a corner the line goes back to the flare over some 60 mm.
        """
        depth = more / self.term.depth(1.0) * np.sign(self.kink)
        turned = cumulative_trapezoid(self.term.turned(s), s, initial=0)
        return np.asarray(depth * (turned - turned[-1]))


class FacetFinder:
    """Looks for facets on one line.

    meridian: smooth curve through the stations; z, diameter: (n,) the stations as measured [mm]; diameter_error,
    z_error: 1 sd [mm] of a diameter and of placing z. An error stated too small is found out; one stated too large
    hides facets. known: its facets, where they need not be looked for. explained_by: how they are looked for.
    """

    def __init__(
        self,
        meridian: Meridian,
        z: FloatArray,
        diameter: FloatArray,
        *,
        diameter_error: float,
        z_error: float = 0.0,
        known: tuple[Facet, ...] | None = None,
        explained_by: Callable[[FairFlare], Explanation] = explain,
    ) -> None:
        self.meridian, self.z, self.r = meridian, np.asarray(z, float), np.asarray(diameter, float) / 2
        self._stated: dict[str, Any] = {"diameter_error": diameter_error, "z_error": z_error}
        self._known, self._explained_by = known, explained_by

    @cached_property
    def facets(self) -> tuple[Facet, ...]:
        """All facets from tail to rim; none on a line of too few stations."""
        if self._known is not None:
            return self._known
        if self.z.size < FEWEST_STATIONS or self.meridian.length < SHORTEST_LINE:
            return ()
        return self._told(self._flare(self.meridian), self._explained)

    def told_as(self, other: FacetFinder) -> FacetFinder:
        """This line with the facets of another at the same z, where they explain its stations nearly as well."""
        here = [one for one in other.facets if self.meridian.z[0] < one.z < self.meridian.z[-1]]
        if not self.facets or not here:
            return self
        flare = self._flare(self.meridian)
        terms = tuple(replace(one.term, place=float(self.meridian.arc_at_z(one.z))) for one in here)
        known = self._told(flare, explain_alike(flare, self._explained, terms))
        return FacetFinder(self.meridian, self.z, 2 * self.r, **self._stated, known=known)

    @cached_property
    def _explained(self) -> Explanation:
        return self._explained_by(self._flare(self.meridian))

    def _told(self, flare: FairFlare, found: Explanation) -> tuple[Facet, ...]:
        held = Search(flare).held(found.terms, found.misread)
        sizes, covariance = flare.seen(found.learned, held).sizes()
        told = [
            self._facet(
                flare, term, term.usual * float(sizes[i]), term.usual * float(np.sqrt(covariance[i, i]))
            )
            for i, term in enumerate(found.terms)
            if term.shape != "change"
        ]
        return tuple(sorted(told, key=lambda facet: facet.s))

    def kept(self, facet: Facet, bell: Meridian, gap: FloatArray) -> tuple[float, float]:
        """Share of a facet that a bell keeps, and how far the facet's middle moves along the arc [mm].

        bell: this line up to the bell's rim; gap: (n,) motion [mm] along the normal at its stations. The line's
        stations are moved by it and the flare is learned anew, all facets there. Beside that flare both the facet and
        what the motion adds to it are measured. Both are nan where the bell does not hold the facet whole.
        """
        term = facet.term
        if facet.s + term.reach / 2 > bell.length:
            return np.nan, np.nan
        flare = self._flare(bell)
        search = Search(flare)
        terms = [term, *(one.term for one in self.facets if one is not facet and one.s < bell.length)]
        moved = CubicSpline(bell.s, gap)(flare.s) / flare.sigma
        columns, after = search.columns(terms), flare.values + moved
        learned = flare.learned(columns, after)
        before = flare.seen(learned, columns)
        bare = flare.rows(np.column_stack([one.usual * one.curvature(flare.grid) for one in terms]))
        (size, *_), (change, *_) = before.sizes()[0], flare.seen(learned, bare, moved).sizes()[0]
        beside = before.columns[:, 1:]
        shift = (
            search.settled(term, learned, beside, after).place - search.settled(term, learned, beside).place
        )
        return float(1 + change / size), float(shift)

    def with_facet(self, facet: Facet) -> tuple[FacetFinder, Facet]:
        """This line with a facet of another let in at the same z, its stations cut with it, and the facet there."""
        here = replace(facet, s=float(self.meridian.arc_at_z(facet.z)))
        line = offset(self.meridian, here.deepened(self.meridian.s, facet.depth))
        foot, away = nearest_point(self.meridian, self.z, self.r)
        on = np.isfinite(foot)
        slope = self.meridian.at(foot[on]).slope
        out = away[on] + np.interp(foot[on], self.meridian.s, here.deepened(self.meridian.s, facet.depth))
        at = self.meridian.at(foot[on])
        z, r = at.z - out * np.sin(slope), at.r + out * np.cos(slope)
        cut = FacetFinder(line, z, 2 * r, **self._stated, known=(*self.facets, here))
        return cut, here

    def _flare(self, line: Meridian) -> FairFlare:
        """The stations on `line`, which may end short of them."""
        r_error = self._stated["diameter_error"] / 2
        return FairFlare(line, self.z, self.r, r_error=r_error, z_error=self._stated["z_error"])

    def _facet(self, flare: FairFlare, term: Term, size: float, error: float) -> Facet:
        near = np.abs(flare.s - term.place) <= term.reach
        spacing = float(np.median(np.diff(flare.s[near]))) if np.count_nonzero(near) > 1 else np.inf
        return Facet(
            kind=KINDS[term.shape, size > 0],
            s=term.place,
            z=float(self.meridian.at(term.place).z),
            depth=term.depth(size),
            depth_error=term.depth(error),
            width=term.width,
            kink=term.kink(size),
            spacing=spacing,
            widest_spacing=term.reach / SPACINGS_ACROSS,
        )
