"""Symmetric banded equations of the laying model, solved in place without pivoting (L D L')."""

from __future__ import annotations

__all__ = ["HALF_BAND", "factorised", "substituted"]

from springfit.mechanics.laying.compiled import inner

HALF_BAND = 8  # the diagonal and seven below it: two nodes of four unknowns


@inner
def factorised(band):  # type: ignore[no-untyped-def]
    """L and D over `band` (n, 8), band[i, k] = K[i, i - k]; False where a pivot is nought or not finite."""
    size = band.shape[0]
    for j in range(size):
        pivot = band[j, 0]
        if not abs(pivot) > 0.0:
            return False
        reach = min(HALF_BAND, size - j)
        for k in range(1, reach):
            share = band[j + k, k] / pivot
            for m in range(k, reach):
                band[j + m, m - k] -= share * band[j + m, m]
        for k in range(1, reach):
            band[j + k, k] /= pivot
    return True


@inner
def substituted(band, right):  # type: ignore[no-untyped-def]
    """Solution over `right` (n,), `band` being factorised."""
    size = band.shape[0]
    for i in range(size):
        for k in range(1, min(HALF_BAND, i + 1)):
            right[i] -= band[i, k] * right[i - k]
    for i in range(size):
        right[i] /= band[i, 0]
    for i in range(size - 1, -1, -1):
        for k in range(1, min(HALF_BAND, size - i)):
            right[i] -= band[i + k, k] * right[i + k]
