"""The shop's solve against regressions that others have worked: conjugate, Bayesian ridge, Gaussian process.

With multipliers, seats, walls and remainders switched off the hierarchy is Bayesian linear regression on its single
fields. Sources: the conjugate posterior by its closed form (Gelman et al., Bayesian Data Analysis, 3rd ed.,
sect. 14.8; X = [1, 0..4], y = .1 .9 2.2 2.8 4.1, prior variance 100 of the noise variance, inverse gamma (2, 0.5)),
whose posterior mean does not hang on the noise; scikit-learn's BayesianRidge and its exact GaussianProcessRegressor
with a dot-product kernel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.stats import t as student
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, DotProduct
from sklearn.linear_model import BayesianRidge

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.hierarchy import solve
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.link import OF_BATCH
from springfit.learning.regression.posterior import Posterior
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import SEATS, Columns, Summaries

EXACT = (
    1e-6  # relative: the same linear algebra in another order; multipliers are off to 1e-9, not to nothing
)
SINGLE = [  # free fields outside the rows of splines
    place for place, field in enumerate(FIELDS) if field.place < 0 and field.share != "laid"
]
FREE = STRUCTURES["free"]
OFF = ("bell_hoop", "bell_along", *OF_BATCH, "bell_remainder", "wall", "effects")


@dataclass(frozen=True)
class Regression(Prior):
    """Independent prior of mean 0 and one variance on the fields in use."""

    variance: float = 1.0

    def precision(self, spreads: Spreads) -> np.ndarray:
        """Inverse covariance with the single fields' own entries replaced, nothing else going with them."""
        matrix = super().precision(spreads)
        matrix[SINGLE, :] = matrix[:, SINGLE] = 0.0
        matrix[SINGLE, SINGLE] = 1.0 / self.variance
        return matrix


def regressed(rows: np.ndarray, values: np.ndarray, *, noise: float, variance: float) -> Posterior:
    """Posterior of coefficients of `rows` (n, up to 7), of prior `variance`, `noise` the sd of `values` (n,)."""
    columns = Columns((), ())
    layout = Layout(
        columns, {"b": BatchFacts("m", np.zeros(len(BATCH_FEATURES)), (None,) * len(LABELS))},
        ("m",), ((),) * len(LABELS),
    )  # fmt: skip
    design = np.zeros((len(values), columns.all))
    design[:, SINGLE[: rows.shape[1]]] = rows
    summaries = Summaries(
        columns, ("one",), ("b",), (design.T @ design)[None] / noise**2, (design.T @ values)[None] / noise**2,
        np.array([values @ values]) / noise**2, np.array([float(len(values))]), np.full((1, SEATS), -1),
    )  # fmt: skip
    prior = Regression(layout, FREE, np.zeros(layout.size), variance)
    return solve(summaries, layout, prior, Spreads({**FREE.start, **dict.fromkeys(OFF, 1e-9)}))


def evidence(posterior: Posterior, count: int, noise: float) -> float:
    """Log density of the readings."""
    return posterior.log_evidence - count * (np.log(noise) + 0.5 * np.log(2 * np.pi))


def test_conjugate_regression() -> None:
    rows = np.column_stack((np.ones(5), np.arange(5.0)))
    values = np.array([0.1, 0.9, 2.2, 2.8, 4.1])
    shape, rate = 4.5, 0.5584043627  # of the noise's inverse gamma afterwards
    for noise in (0.1, np.sqrt(rate / shape)):
        told = regressed(rows, values, noise=noise, variance=100 * noise**2)
        assert told.mean[SINGLE[:2]] == pytest.approx([0.04172782, 0.98909436], rel=EXACT)
    # Given the noise the forecast at x = 5 is normal; over the noise it is Student's t of twice the shape.
    asked = np.array([1.0, 5.0])
    spread = asked @ told.covariance[np.ix_(SINGLE[:2], SINGLE[:2])] @ asked
    scale = np.sqrt(spread + rate / shape)
    middle = asked @ told.mean[SINGLE[:2]]
    assert (middle, scale) == pytest.approx((4.9871996, 0.5101768), rel=EXACT)
    ends = middle + scale * student.ppf([0.025, 0.975], 2 * shape)
    assert ends == pytest.approx([3.8330995, 6.1412997], rel=EXACT)


def test_conjugate_evidence_over_the_noise() -> None:
    """The evidence given the noise, summed over its prior, is the density that the closed form gives."""
    rows = np.column_stack((np.ones(5), np.arange(5.0)))
    values = np.array([0.1, 0.9, 2.2, 2.8, 4.1])
    logs = np.linspace(np.log(0.02), np.log(20.0), 300)  # of the noise variance
    density = []
    for log_variance in logs:
        noise = float(np.exp(log_variance / 2))
        told = regressed(rows, values, noise=noise, variance=100 * noise**2)
        prior = (
            2 * np.log(0.5) - 2 * log_variance - 0.5 * np.exp(-log_variance)
        )  # inverse gamma (2, 0.5), in the log
        density.append(evidence(told, 5, noise) + prior)
    total = np.log(np.trapezoid(np.exp(density), logs))
    assert total == pytest.approx(-7.469897328, abs=1e-4)  # of the sum over 300 points


def test_bayesian_ridge_at_its_own_precisions() -> None:
    rng = np.random.default_rng(11)
    rows = rng.normal(size=(60, 5))
    values = rows @ rng.normal(size=5) + 0.3 * rng.normal(size=60)
    ridge = BayesianRidge(fit_intercept=False, compute_score=True, tol=1e-10, max_iter=1000)
    ridge.set_params(alpha_1=0.0, alpha_2=0.0, lambda_1=0.0, lambda_2=0.0).fit(rows, values)
    noise, variance = float(ridge.alpha_**-0.5), float(1 / ridge.lambda_)
    told = regressed(rows, values, noise=noise, variance=variance)
    used = SINGLE[:5]
    assert told.mean[used] == pytest.approx(ridge.coef_, rel=EXACT)
    assert told.covariance[np.ix_(used, used)] == pytest.approx(ridge.sigma_, rel=EXACT, abs=1e-9)
    assert evidence(told, 60, noise) == pytest.approx(ridge.scores_[-1], rel=EXACT)
    for off in (0.8, 1.25):  # and those precisions make our evidence largest too
        for noise_off, variance_off in ((off, 1.0), (1.0, off)):
            other = regressed(rows, values, noise=noise * noise_off, variance=variance * variance_off)
            assert evidence(other, 60, noise * noise_off) < ridge.scores_[-1]


def test_exact_gaussian_process_with_a_linear_kernel() -> None:
    rng = np.random.default_rng(12)
    rows, asked = rng.normal(size=(40, 6)), rng.normal(size=(15, 6))
    values = rows @ rng.normal(size=6) + 0.2 * rng.normal(size=40)
    noise, variance = 0.2, 0.7
    kernel = ConstantKernel(variance, "fixed") * DotProduct(0.0, "fixed")
    process = GaussianProcessRegressor(kernel, alpha=noise**2, optimizer=None).fit(rows, values)
    middle, sd = process.predict(asked, return_std=True)
    told, used = regressed(rows, values, noise=noise, variance=variance), SINGLE[:6]
    assert asked @ told.mean[used] == pytest.approx(middle, rel=EXACT)
    ours = np.sqrt(np.einsum("ij,jk,ik->i", asked, told.covariance[np.ix_(used, used)], asked))
    assert ours == pytest.approx(sd, rel=1e-5)  # sklearn takes its variance as a difference
    assert evidence(told, 40, noise) == pytest.approx(process.log_marginal_likelihood_value_, rel=EXACT)
