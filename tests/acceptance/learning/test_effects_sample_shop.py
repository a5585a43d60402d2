"""Effects on the sample shop: noise is not claimed, neither are speed and lubricant, and what was planted is found.

Planted shops keep the sample shop's batches, bells, readings and blanks, but every reading is what the model itself
gives for drawn effects, labels, batches and bells, with errors as large as its gauge states. They show that the fit
recovers its own kind of shop; whether brass is of that kind is for the left-out batches and mandrels to say.
Spreads are held at those of the full fit.

To lay every batch of the sample shop takes minutes: by default the shop is one of batches spun by
habit, so that one sheet is laid for all, and how each is said to have been spun is drawn.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.learning.effects import Effect, effects_of, typical_gap
from springfit.learning.experience import experience_of
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.fit import Fit
from springfit.learning.fitting import fit_model
from springfit.learning.model import SpringModel
from springfit.learning.regression.estimation import Solved
from springfit.learning.regression.hierarchy import local_jacobian, solve
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.link import OF_BATCH, OWN
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.summaries import Summaries
from springfit.records.reading import read_book

Floats = NDArray[np.float64]

NAMES = [feature.name for feature in BATCH_FEATURES]
SPEED, PASSES = NAMES.index("spindle_speed"), NAMES.index("passes")
SEEDS = (16, 40)  # random numbers in place of the speed, of the small shop and the whole one
MOST_CLAIMED = 0.05
SPEED_SPREAD = (
    1.0  # 1 sd of the random numbers, in ln: as far apart as half and twice the speed are, and more
)
LOWEST_COVER, HIGHEST_COVER = 0.80, 0.97
DRAWS, FEW_DRAWS = 100, 16  # the full count is slow and run by hand
CLAIM_DRAWS, MOST_MISSED, MOST_FALSE = 40, 0.10, 0.05  # shares: of fewer draws one in ten is not told from one in five
SEED = 20240601
BATCHES, BELLS = 24, 4  # of the small shop
SPRING = 4.0  # times brass: how far four bells sprang is then not hidden by how they sat
HABIT = {"steady": True, "blanks": 0.0, "datums": ("witness",), "spring": SPRING}
# Spreads that shops planted by the small one are drawn with: so much alike that so few bells tell an effect.
ALIKE = {"batch_hoop": 0.05, "batch_along": 0.05, "bell_hoop": 0.02, "bell_along": 0.02}


@cache
def _fitted(folder: Path) -> Fit:
    fit = fit_model(experience_of(*read_book(folder)))
    assert fit is not None
    return fit


@pytest.fixture(scope="module")
def steady(tmp_path_factory: pytest.TempPathFactory) -> Fit:
    """Batches that were all spun alike, with drawn features in place of their own."""
    folder = tmp_path_factory.mktemp("steady") / "book"
    made = make_shop(5, batches=BATCHES, mandrels=1, bells=BELLS, **HABIT)
    write_book(made.tables, folder)
    fit, rng = _fitted(folder), np.random.default_rng([SEED, 3])
    usual = np.array([feature.spread for feature in BATCH_FEATURES])
    facts = {
        batch: replace(known, features=usual * rng.standard_normal(usual.size))
        for batch, known in fit.layout.facts.items()
    }
    return replace(fit, layout=replace(fit.layout, facts=facts))


@pytest.fixture(params=["steady", pytest.param("sample-shop", marks=pytest.mark.benchmark)])
def fit(request: pytest.FixtureRequest) -> Fit:
    if request.param == "steady":
        return request.getfixturevalue("steady")
    return _fitted(request.getfixturevalue("shared") / request.param)


@pytest.fixture
def planting(fit: Fit) -> Fit:
    """The fit that shops are planted by: the small one's batches and bells held to be much alike."""
    if count_of((1, 0), fit) == 0:
        return fit
    spreads = Spreads({**fit.lead.spreads.values, **ALIKE})
    return replace(fit, solved=(replace(fit.lead, spreads=spreads), *fit.solved[1:]))


def count_of(draws: tuple[int, int], fit: Fit) -> int:
    """How many are drawn: fewer of the small shop."""
    return draws[len(fit.experience.bells) > BATCHES * BELLS]


def _refitted(fit: Fit, layout: Layout, summaries: Summaries) -> SpringModel:
    """The structure that reads the bells, solved anew; the others have no say in effects."""
    prior, spreads = Prior.of(layout, fit.lead.structure), fit.lead.spreads
    solved = Solved(prior, spreads, solve(summaries, layout, prior, spreads, fit.lead.posterior.start()))
    return replace(fit, layout=layout, summaries=summaries, solved=(solved,)).model()


def _named(model: SpringModel) -> dict[str, Effect]:
    return {effect.name: effect for effect in effects_of(model)}


def _with_speeds(layout: Layout, speeds: Floats) -> Layout:
    facts = {}
    for speed, (batch, known) in zip(speeds, layout.facts.items(), strict=True):
        features = known.features.copy()
        features[SPEED] = speed
        facts[batch] = replace(known, features=features)
    return replace(layout, facts=facts)


def test_a_random_number_in_place_of_the_speed_is_not_claimed(fit: Fit) -> None:
    claimed, seeds = 0, count_of(SEEDS, fit)
    for seed in range(seeds):
        speeds = SPEED_SPREAD * np.random.default_rng([SEED, seed]).standard_normal(len(fit.layout.facts))
        effects = _named(_refitted(fit, _with_speeds(fit.layout, speeds), fit.summaries))
        claimed += effects["spindle_speed"].claimed
    print(f"{claimed} of {seeds} random numbers claimed")
    assert claimed <= MOST_CLAIMED * seeds


def test_what_has_no_say_in_a_shop_is_not_claimed(fit: Fit) -> None:
    """Speed and lubricant of the sample shop; of a shop spun alike nothing of what is said to differ."""
    effects = _named(_refitted(fit, fit.layout, fit.summaries))
    names = ("spindle_speed", "lubricant") if "lubricant" in effects else NAMES
    assert not [name for name in names if effects[name].claimed]


class _Planted:
    """Shops of the model's own kind on the batches and readings of a fit."""

    def __init__(self, fit: Fit) -> None:
        self.fit, self.layout = fit, fit.layout
        values, vectors = np.linalg.eigh(fit.summaries.gram)
        self.roots = (
            vectors * np.sqrt(np.clip(values, 0.0, None))[:, None, :]
        )  # errors of a moment: covariance gram
        self.members = {
            batch: [i for i, of in enumerate(fit.summaries.batch_ids) if of == batch]
            for batch in fit.layout.facts
        }

    def drawn(self, rng: np.random.Generator) -> Floats:
        """Shop unknowns of one planted shop: the fields and gauges fitted, effects and labels drawn anew."""
        lead, slices = self.fit.lead, self.layout.slices
        theta, spreads = lead.posterior.mean.copy(), lead.spreads
        for name in ("effects", *LABELS):
            count = slices[name].stop - slices[name].start
            deviations = spreads[name] * rng.standard_normal(count)
            theta[slices[name]] = deviations - (deviations.mean() if name in LABELS and count else 0.0)
        return theta

    def summaries(self, theta: Floats, rng: np.random.Generator) -> Summaries:
        """What the gauges of the planted shop `theta` would have read, as sums."""
        old, spreads, link = self.fit.summaries, self.fit.lead.spreads, self.fit.lead.structure.link
        moment = np.zeros_like(old.moment)
        batch_sd = np.array([spreads[name] for name in OF_BATCH])
        for batch, members in self.members.items():
            facts = self._as_spun(self.layout.facts[batch], rng)
            k = self.layout.linearised_at(facts, theta, batch_sd * rng.standard_normal(OWN), link)[0]
            jacobian = local_jacobian(old.columns, k)
            own = np.sqrt(spreads.local_variance(old.datum[members])) * rng.standard_normal(
                (len(members), jacobian.shape[1])
            )
            for bell, local in zip(members, own, strict=True):
                whole = jacobian @ local
                whole[: len(k)] += k
                error = self.roots[bell] @ rng.standard_normal(len(whole))
                moment[bell] = old.gram[bell] @ whole + error
        return replace(old, moment=moment)

    def _as_spun(self, facts: BatchFacts, rng: np.random.Generator) -> BatchFacts:
        """A batch with its blanks filled in: something was done there, only nobody wrote it down."""
        usual = np.array([f.spread for f in BATCH_FEATURES]) * rng.standard_normal(len(BATCH_FEATURES))
        labels = tuple(
            label if label is not None or not levels else str(rng.choice(levels))
            for label, levels in zip(facts.labels, self.layout.levels, strict=True)
        )
        return replace(
            facts, features=np.where(np.isnan(facts.features), usual, facts.features), labels=labels
        )


def _truth(model: SpringModel, theta: Floats) -> dict[str, float]:
    """What each effect of `model` should have said [mm] had it known `theta`; of labels, the pair that it names."""
    knowing = replace(model, structures=(replace(model.lead, mean=theta),))
    true = {name: effect.size_mm for name, effect in _named(knowing).items()}
    for kind, levels in zip(LABELS, model.layout.levels, strict=True):
        if len(levels) > 1:
            told, planted = model.lead.mean[model.layout.slices[kind]], theta[model.layout.slices[kind]]
            apart = planted[np.argmax(told)] - planted[np.argmin(told)]
            true[kind] = typical_gap(model) * float(np.expm1(apart))
    return true


@pytest.mark.parametrize("draws", [FEW_DRAWS, pytest.param(DRAWS, marks=pytest.mark.benchmark)])
def test_planted_effects_lie_in_their_bands(planting: Fit, draws: int) -> None:
    fit, planted = planting, _Planted(planting)
    held: dict[str, list[bool]] = {}
    for seed in range(draws):
        rng = np.random.default_rng([SEED, 1, seed])
        theta = planted.drawn(rng)
        model = _refitted(fit, fit.layout, planted.summaries(theta, rng))
        truth = _truth(model, theta)
        for effect in effects_of(model):
            held.setdefault(effect.name, []).append(effect.low_mm <= truth[effect.name] <= effect.high_mm)
    cover = {name: float(np.mean(inside)) for name, inside in held.items()}
    print({name: round(share, 2) for name, share in cover.items()})
    for names in (NAMES, [kind for kind in LABELS if kind in cover]):
        assert LOWEST_COVER <= np.mean([cover[name] for name in names]) <= HIGHEST_COVER
    # One effect alone: three standard errors of a share of that many draws below the lowest that all may have.
    assert min(cover.values()) >= LOWEST_COVER - 3 * np.sqrt(LOWEST_COVER * (1 - LOWEST_COVER) / draws)


def test_a_large_planted_effect_is_claimed_and_an_absent_one_is_not(planting: Fit) -> None:
    """Shops without any effect but that of passes: exp(0.5) a unit. The claim must not miss it, nor name others."""
    fit, planted, missed, false = planting, _Planted(planting), 0, 0
    for seed in range(CLAIM_DRAWS):
        rng = np.random.default_rng([SEED, 2, seed])
        theta = fit.lead.posterior.mean.copy()
        theta[fit.layout.log_multipliers] = 0.0
        theta[fit.layout.slices["effects"].start + PASSES] = 0.5
        effects = _named(_refitted(fit, fit.layout, planted.summaries(theta, rng)))
        missed += not effects["passes"].claimed
        false += any(effect.claimed for effect in effects.values() if effect.name != "passes")
    print(f"of {CLAIM_DRAWS} shops {missed} missed the effect, {false} claimed another")
    assert missed <= MOST_MISSED * CLAIM_DRAWS
    assert false <= MOST_FALSE * CLAIM_DRAWS
