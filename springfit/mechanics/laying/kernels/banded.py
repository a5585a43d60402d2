"""Symmetric banded equations of the laying model, solved in place without pivoting (L D L')."""

from __future__ import annotations

__all__ = ["HALF_BAND", "PADDING", "factorised", "substituted"]

from springfit.mechanics.laying.kernels.compiled import inner

HALF_BAND = 8  # the diagonal and seven beside it: two nodes of four unknowns
PADDING = HALF_BAND - 1  # rows of nought past the end, so that no loop has to look where the end is


@inner
def factorised(band):  # type: ignore[no-untyped-def]
    """L' and D over `band` (n + PADDING, 8), band[i, k] = K[i, i + k]; False where a pivot is nought or not finite."""
    for j in range(band.shape[0] - PADDING):
        pivot = band[j, 0]
        if not abs(pivot) > 0.0:
            return False
        inverse = 1.0 / pivot
        for k in range(1, HALF_BAND):
            share = band[j, k] * inverse
            for m in range(k, HALF_BAND):
                band[j + k, m - k] -= share * band[j, m]
        for k in range(1, HALF_BAND):
            band[j, k] *= inverse
    return True


@inner
def substituted(band, right):  # type: ignore[no-untyped-def]
    """Solution over `right` (n + PADDING,), `band` being factorised."""
    size = right.size - PADDING
    for i in range(size):
        known = right[i]
        for k in range(1, HALF_BAND):
            right[i + k] -= band[i, k] * known
        right[i] = known / band[i, 0]
    for i in range(size, right.size):
        right[i] = 0.0
    for i in range(size - 1, -1, -1):
        total = right[i]
        for k in range(1, HALF_BAND):
            total -= band[i, k] * right[i + k]
        right[i] = total
