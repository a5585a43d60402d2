"""Mean and covariance of shops' shares, from bells of which each shows only part of them.

    a bell's coefficients      k = beta + d,    beta ~ N(mean, between) its shop's, d ~ N(0, within) its own
    what it shows              y = X k + e,     e ~ N(0, sd^2) of each share

by expectation-maximisation (Dempster, Laird & Rubin 1977; Laird & Ware 1982, Biometrics 38, 963-974). `PSEUDO` shops of
smooth shares about nought stand beside those drawn, so that what few bells show stays smooth; and that no share passes
yield counts as one more reading of each shop's coefficients.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["BetweenShops", "Shown", "between_shops"]

Floats = NDArray[np.float64]

YIELD = 1.15 / 2.0  # [-] 1 sd: a share of flow stress stops at 1.15, 2 / sqrt 3 (von Mises, plane strain)
PSEUDO = 6.0  # shops; as spreads are held (`regression.estimation`); assumed
# Of a station: neighbours 1.5 mm apart tell the same, an edge being felt over 4 mm (`station_features`)
APART = 1.0 / 3.0
ROUNDS = 80  # expectation-maximisation creeps; by then numbers move in the fourth figure


@dataclass(frozen=True, eq=False)
class Shown:
    """What one bell shows: of each kind of share the values (n, k) of its fields and the shares (n,) they make."""

    kinds: tuple[tuple[Floats, Floats], ...]


@dataclass(frozen=True, eq=False)
class BetweenShops:
    """`mean` (k,) of the shops' coefficients, `between` (k, k) their covariance, `within` (k, k) that of a shop's bells
    about it, and `left` (kinds,) the sd of what the fields leave of each kind of share."""

    mean: Floats
    between: Floats
    within: Floats
    left: Floats


def between_shops(shops: Sequence[Sequence[Shown]], smooth: Floats, *, rounds: int = ROUNDS) -> BetweenShops:
    """The covariances that suit `shops` best; `smooth` (k, k) is the covariance of the shops that stand beside them."""
    size, kinds = len(smooth), len(shops[0][0].kinds)
    at = BetweenShops(np.zeros(size), smooth, smooth, np.full(kinds, YIELD))
    for _ in range(rounds):
        at = _round(shops, smooth, at)
    return at


def _round(shops: Sequence[Sequence[Shown]], smooth: Floats, at: BetweenShops) -> BetweenShops:
    inverse, own = np.linalg.inv(at.between), np.linalg.inv(at.within)
    within, bells = PSEUDO * smooth, PSEUDO
    square, count = np.zeros(at.left.size), np.zeros(at.left.size)
    means, spreads = [], []
    for shop in shops:
        told = [_told(bell, at.left, len(shop)) for bell in shop]
        inner = [np.linalg.inv(gram + own) for gram, _ in told]
        precision = inverse + sum(g - g @ c @ g for (g, _), c in zip(told, inner, strict=True))
        pull = inverse @ at.mean + sum(p - g @ c @ p for (g, p), c in zip(told, inner, strict=True))
        spread = np.linalg.inv(precision)
        mean = spread @ pull
        means.append(mean)
        spreads.append(spread)
        for bell, (gram, pulled), c in zip(shop, told, inner, strict=True):
            departs, seen = c @ (pulled - gram @ mean), c @ gram
            lean = np.eye(len(c)) - seen
            within = within + np.outer(departs, departs) + c + seen @ spread @ seen.T
            bells += 1
            about = c + lean @ spread @ lean.T
            for kind, (fields, share) in enumerate(bell.kinds):
                error = share - fields @ (mean + departs)
                square[kind] += error @ error + np.einsum("ij,jk,ik->", fields, about, fields)
                count[kind] += len(share)
    shops_in_all = PSEUDO + len(shops)
    centre = np.sum(means, axis=0) / shops_in_all
    total = PSEUDO * (smooth + np.outer(centre, centre)) + sum(
        spread + np.outer(mean - centre, mean - centre) for mean, spread in zip(means, spreads, strict=True)
    )
    return BetweenShops(centre, total / shops_in_all, within / bells, np.sqrt(square / count))


def _told(bell: Shown, left: Floats, bells: int) -> tuple[Floats, Floats]:
    """What one of a shop's `bells` adds to the precision (k, k) of its coefficients, and to precision times mean."""
    size = bell.kinds[0][0].shape[1]
    gram, pull = np.eye(size) / (bells * YIELD**2), np.zeros(size)
    for (fields, share), sd in zip(bell.kinds, left, strict=True):
        gram = gram + APART * fields.T @ fields / sd**2
        pull = pull + APART * fields.T @ share / sd**2
    return gram, pull
