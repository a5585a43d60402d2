"""Batches taken out of what was learned, as if they had never been spun.

Given the shop's unknowns batches are independent, so that what one said is a term of the precision, and goes out as it
came in:

    precision = H - sum L_b,     precision times mean = H mean - sum l_b

with H of all of them. Batches stay linearised where all of them were known, and spreads stay what they were. Unknowns
that only the batches taken out knew of (their mandrel, their lot) are left at their prior, and leave with them. Of few
batches each is much of what is known, so there the rest is solved anew.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from springfit.learning.regression.estimation import Solved
from springfit.learning.regression.hierarchy import information_of, solve
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.prior_sd import Prior
from springfit.learning.regression.summaries import Summaries

__all__ = ["solved_anew", "taken_out", "without"]

Floats = NDArray[np.float64]

# Batches left, up to which the rest is solved anew: a tenth of a second a structure. Twice the gap in all readings of
# one of six moved the forecast without it by 0.09 of its standard deviation where it was taken out instead.
FEW = 12


def without(solved: Solved, summaries: Summaries, whole: Layout, rest: Layout) -> tuple[Floats, Floats]:
    """Mean and covariance of the unknowns of `rest` as its batches alone teach them; `solved` on those of `whole`."""
    learn = solved_anew if len(rest.facts) <= FEW else taken_out
    return learn(solved, summaries, whole, rest)


def solved_anew(solved: Solved, summaries: Summaries, whole: Layout, rest: Layout) -> tuple[Floats, Floats]:
    """The same by a solve of the batches of `rest` alone."""
    prior = Prior.of(rest, solved.structure)
    begin = replace(solved.posterior.start(), mean=whole.carried(solved.posterior.mean, rest))
    posterior = solve(summaries, rest, prior, solved.spreads, begin)
    return posterior.mean, posterior.covariance


def taken_out(solved: Solved, summaries: Summaries, whole: Layout, rest: Layout) -> tuple[Floats, Floats]:
    """The same by taking out of what all batches of `whole` said what those that `rest` has not said."""
    gone = replace(whole, facts={batch: fact for batch, fact in whole.facts.items() if batch not in rest.facts})
    known = solved.posterior
    said, pull = information_of(summaries, gone, solved.prior, solved.spreads, known)
    covariance = np.linalg.inv(known.precision - said).astype(np.float64)
    mean = covariance @ (known.precision @ known.mean - pull)
    at = rest.places_in(whole)
    covariance = covariance[np.ix_(at, at)]
    return mean[at], (covariance + covariance.T) / 2
