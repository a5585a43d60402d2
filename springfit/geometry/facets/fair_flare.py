"""How likely measured stations are on a fair flare, with or without further terms let into its curvature.

The stations' offsets from their own smooth meridian are those of a curvature

    kappa(s) = a + b s + w(s) (c0 + c1 s + c2 s^2) + h(s) + sum of terms,   w = sin^2(phi) cos(phi) / r

plus independent errors. A horn r = b (x + x0)^-gamma and an exponential flare have kappa = c0 w exactly (c0 is 1 +
1/gamma and 1), so w takes the steep rise and fall of a flare's own curvature; the last few mm at the rim are free to
curl. h is a Gaussian process, smooth over a length, stronger where w is, for what is left. Its length and size and the
scale of the errors are learned from the stations by restricted marginal likelihood (Rasmussen & Williams, Gaussian
Processes for Machine Learning, 2006, sections 2.7 and 5.4.1). No length under 30 mm is tried: what turns faster is no
fair flare.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.integrate import cumulative_trapezoid

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["FairFlare", "Learned", "Seen"]

LENGTHS = (30.0, 42.0, 60.0, 85.0, 120.0)  # [mm] over which h is smooth; each 1.4 times the last; assumed
# [1/mm] 1 sd of h where w is largest; from a radius of 100 m to one of 33 mm; assumed
WANDERS = np.geomspace(1e-5, 3e-2, 11)
PLAIN_SHARE = 0.1  # of that, where w is nothing; assumed
NOISES = np.geomspace(1.0, 16.0, 7)  # times the stated error: it may be understated, never overstated; assumed
NOISE_SPREAD = 0.7  # 1 sd of the logarithm of that factor beforehand; a factor of two; assumed
LEAST_ERROR = 0.0025  # [mm] of a station along the normal: a tenth of a thou, no turned surface is truer
GRID_STEP = 1.0  # [mm]; a thirtieth of the shortest length
# [mm] from the rim over which an edge may curl, as a let-go bell's does; some decay lengths of an edge; assumed
RIM_REACHES = (8.0, 16.0)
# [rad] between which a slope steers the flare's own curvature; a degree and 86; assumed
LEAST_SLOPE, MOST_SLOPE = 0.02, 1.5
# How h is put together: bumps from so many lengths before the line to as many past it, of the outermost of which e^-4 =
# 2 % is felt, and so many in a length, with which their squares sum to a constant within 1e-13
BUMPS_PAST, BUMPS_IN_LENGTH = 2.0, 2.5
CLOSEST = 2.0  # [mm] stations nearer than this are taken together; no narrower facet is sought


@dataclass(frozen=True)
class Learned:
    """What the stations taught with given terms: log evidence, number of the length, wander [1/mm], noise factor."""

    evidence: float
    length: int
    wander: float
    noise: float


@dataclass(frozen=True)
class Seen:
    """Values and terms through the eyes of a learned flare: what it cannot explain has unit variance.

    left: (n,) values; columns: (n, terms).
    """

    left: FloatArray
    columns: FloatArray

    def sizes(self) -> tuple[FloatArray, FloatArray]:
        """Least-squares size of each term, all together, and their covariance, in units of the columns."""
        covariance = np.linalg.inv(self.columns.T @ self.columns)
        return np.asarray(covariance @ (self.columns.T @ self.left)), np.asarray(covariance, np.float64)


class FairFlare:
    """Stations about their own smooth meridian.

    meridian: smooth curve near the stations; z, r: (n,) stations [mm]; r_error, z_error: 1 sd [mm].
    """

    def __init__(
        self, meridian: Meridian, z: FloatArray, r: FloatArray, *, r_error: float, z_error: float
    ) -> None:
        arc, off = nearest_point(meridian, z, r)
        known = np.isfinite(off)
        arc, self._group = _grouped(arc[known])
        self._known, self.meridian = known, meridian
        slope = meridian.at(arc).slope
        stated = np.hypot(r_error * np.cos(slope), z_error * np.sin(slope))
        self.sigma = np.hypot(stated, LEAST_ERROR) / np.sqrt(np.bincount(self._group))
        self.s = arc
        grid = np.linspace(0.0, meridian.length, int(meridian.length / GRID_STEP) + 1)
        self.grid = np.unique(np.concatenate((grid, arc)))
        self._here = np.searchsorted(self.grid, arc)
        self._points = meridian.at(self.grid)
        slope = self._points.slope
        flare = np.sin(slope) ** 2 * np.cos(slope) / self._points.r
        steep = np.tan(np.clip(slope, LEAST_SLOPE, MOST_SLOPE))
        self._steering = self._points.curvature * (2.0 / steep - steep)
        self._flare = np.abs(flare) / max(float(np.abs(flare).max()), np.finfo(float).tiny)
        self.values = self.whitened(off[known]) + self.rows(self._points.curvature[:, None])[:, 0]

    def whitened(self, off: FloatArray) -> FloatArray:
        """Normal offsets [mm] of the known stations over their errors, those that are close together averaged."""
        mean = np.bincount(self._group, weights=off) / np.bincount(self._group)
        return np.asarray(mean / self.sigma)

    def rows(self, curvature: FloatArray) -> FloatArray:
        """Motion of the stations along the normal, over their errors, for curvatures (grid, columns) [1/mm]."""
        return self._motion @ curvature

    def turned_rows(self, curvature: FloatArray, turned: FloatArray) -> FloatArray:
        """Rows of an excess of curvature that has turned the flare by `turned` [rad], both (grid, columns).

        The flare's own curvature is that of its slope without the excess: d kappa = kappa d(ln w)/d(phi) d(phi).
        """
        return self.rows(curvature - self._steering[:, None] * turned)

    def learned(self, columns: FloatArray, values: FloatArray | None = None) -> Learned:
        """The likeliest flare beside terms of unit prior variance, columns (n, terms)."""
        values = self.values if values is None else values
        best = Learned(-np.inf, 0, 0.0, 0.0)
        for number, (strength, axes) in enumerate(self._seen_by_length):
            evidence = _evidence(strength, axes.T @ values, axes.T @ columns)
            noise, wander = np.unravel_index(int(np.argmax(evidence)), evidence.shape)
            if evidence[noise, wander] > best.evidence:
                best = Learned(float(evidence[noise, wander]), number, WANDERS[wander], NOISES[noise])
        return best

    def seen(self, flare: Learned, columns: FloatArray, values: FloatArray | None = None) -> Seen:
        """Values and terms as that flare leaves them."""
        strength, axes = self._seen_by_length[flare.length]
        spread = np.sqrt(flare.wander**2 * strength + flare.noise**2)
        values = self.values if values is None else values
        return Seen(axes.T @ values / spread, axes.T @ columns / spread[:, None])

    def evidence_of_pairs(self, columns: FloatArray) -> FloatArray:
        """Log evidence (terms, terms) beside every two of the columns (n, terms), beside one on the diagonal.

        Each is that of the flare likeliest beside those two, of errors no larger than are likeliest beside none.
        """
        best = np.full((columns.shape[1], columns.shape[1]), -np.inf)
        noises = NOISES[self.learned(np.zeros((self.s.size, 0))).noise >= NOISES]
        for strength, axes in self._seen_by_length:
            left, terms = axes.T @ self.values, axes.T @ columns
            for noise in noises:
                for wander in WANDERS:
                    weight = 1.0 / (wander**2 * strength + noise**2)
                    np.maximum(best, _evidence_of_pairs(weight, left, terms, noise), out=best)
        return best

    @cached_property
    def _motion(self) -> FloatArray:
        """Motion of each station along the normal, over its error, by unit curvature at each place of the grid.

        A slope changed by f(u) moves the place at s by integral_0^s f(u) cos(slope(s) - slope(u)) du.
        """
        return self._moved(cumulative_trapezoid(np.eye(self.grid.size), self.grid, axis=0, initial=0))

    def _moved(self, turned: FloatArray) -> FloatArray:
        cos, sin = np.cos(self._points.slope)[:, None], np.sin(self._points.slope)[:, None]
        along_z = cumulative_trapezoid(turned * cos, self.grid, axis=0, initial=0)
        along_r = cumulative_trapezoid(turned * sin, self.grid, axis=0, initial=0)
        return np.asarray((along_z * cos + along_r * sin)[self._here] / self.sigma[:, None])

    @cached_property
    def _free(self) -> FloatArray:
        """Orthonormal columns (n, n - 7) of what shift, turn and the plain flare cannot do."""
        x = 2.0 * self.grid / self.meridian.length - 1.0
        shift = np.cos(self._points.slope - self._points.slope[0])[self._here] / self.sigma
        turn = self._moved(np.ones((self.grid.size, 1)))
        rim = [np.exp((self.grid - self.meridian.length) / reach) for reach in RIM_REACHES]
        curvature = np.column_stack(
            [np.ones_like(x), x, *(self._flare * x**power for power in range(3)), *rim]
        )
        plain = np.column_stack((shift, turn, self.rows(curvature)))
        q, _ = np.linalg.qr(plain / np.linalg.norm(plain, axis=0), mode="complete")
        return np.asarray(q[:, plain.shape[1] :])

    @cached_property
    def _seen_by_length(self) -> list[tuple[FloatArray, FloatArray]]:
        """Variances and axes of h of unit size among what is free, for each length."""
        found = []
        for length in LENGTHS:
            past = BUMPS_PAST * length
            centres = np.arange(-past, self.meridian.length + past, length / BUMPS_IN_LENGTH)
            bumps = np.exp(-(((self.grid[:, None] - centres) / length) ** 2))  # squared exponential as a sum
            bumps /= np.sqrt(np.mean(np.sum(bumps**2, axis=1)))
            process = np.hstack((PLAIN_SHARE * bumps, self._flare[:, None] * bumps))
            axes, size, _ = np.linalg.svd(self._free.T @ self.rows(process))
            strength = np.zeros(axes.shape[0])
            strength[: size.size] = size**2
            found.append((strength, self._free @ axes))
        return found


def _grouped(s: FloatArray) -> tuple[FloatArray, np.ndarray]:
    """Mean arc of stations taken together where closer than CLOSEST, and which group each belongs to."""
    cell = np.floor(s / CLOSEST) if np.median(np.diff(s)) < CLOSEST / 2 else np.arange(s.size)
    group = np.unique(cell, return_inverse=True)[1]
    return np.bincount(group, weights=s) / np.bincount(group), group


def _evidence(strength: FloatArray, left: FloatArray, terms: FloatArray) -> FloatArray:
    """Log marginal likelihood (noises, wanders), up to a constant, of `left` beside terms of unit prior variance."""
    weight = 1.0 / (WANDERS[:, None] ** 2 * strength + NOISES[:, None, None] ** 2)
    misfit = weight @ left**2
    volume = -np.sum(np.log(weight), axis=2)
    if terms.shape[1]:
        gram = np.einsum("nak,ki,kj->naij", weight, terms, terms, optimize=True) + np.eye(terms.shape[1])
        shared = weight @ (terms * left[:, None])
        misfit = misfit - np.sum(shared * np.linalg.solve(gram, shared[..., None])[..., 0], axis=2)
        volume = volume + np.linalg.slogdet(gram)[1]
    beforehand = (np.log(NOISES)[:, None] / NOISE_SPREAD) ** 2
    return np.asarray(-0.5 * (misfit + volume + beforehand))


def _evidence_of_pairs(
    weight: FloatArray, left: FloatArray, terms: FloatArray, noise: float
) -> FloatArray:
    """`_evidence` (terms, terms) of one flare: with C = 1 + Gram matrix of the two, |C| and b' C^-1 b in full."""
    root = np.sqrt(weight)
    seen = terms * root[:, None]
    gram, shared = seen.T @ seen, seen.T @ (left * root)
    own = 1.0 + np.diag(gram)
    # Rounding may leave no determinant of two terms that are nearly one; it is never below that of one of them.
    determinant = np.maximum(np.outer(own, own) - gram**2, own)
    explained = np.outer(shared**2, own)
    gain = (explained + explained.T - 2 * gram * np.outer(shared, shared)) / determinant - np.log(determinant)
    np.fill_diagonal(gain, shared**2 / own - np.log(own))
    beforehand = (np.log(noise) / NOISE_SPREAD) ** 2
    alone = np.sum(weight * left**2) - np.sum(np.log(weight)) + beforehand
    return np.asarray(0.5 * (gain - alone))
