"""Effects in shop words: the size, the band, when one is claimed, and what cannot be told apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t as student

from springfit.learning.basis.hand import AS_ASSUMED
from springfit.learning.coverage import coverage_of_experience
from springfit.learning.effects import Effect, confounded, effects_of, typical_gap
from springfit.learning.faults.back_pass import BackPassHump
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.forecasting.gap_forecast import Bands
from springfit.learning.memory import NothingLearned
from springfit.learning.model import KnownBatch, SpringModel
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import Columns
from springfit.learning.versions.outcomes import FittedWhole, IsFirst
from springfit.learning.versions.training import Training
from springfit.reporting.effect_wording import confounded_words, effect_words, finding_words
from springfit.reporting.training_words import training_summary, training_text

NAMES = [feature.name for feature in BATCH_FEATURES]
GAPS = (0.2, 0.3, 0.7)  # largest gaps of the made-up batches, mm


def _facts(
    mandrel: str = "A", *, lot: str | None = "L1", ring: str | None = "nylon", **values: float
) -> BatchFacts:
    features = np.zeros(len(NAMES))
    for name, value in values.items():
        features[NAMES.index(name)] = value
    labels: dict[str, str | None] = {"mandrel": mandrel, "alloy": "C26000", "lot": lot, "draw_ring": ring}
    return BatchFacts(mandrel, features, tuple(labels.get(kind) for kind in LABELS))


def _model(facts: list[BatchFacts], **effects: tuple[float, float]) -> SpringModel:
    """A model of those batches whose effects have the given posterior mean and sd; all else as the prior says."""
    met = [sorted({label for f in facts if (label := f.labels[i]) is not None}) for i in range(len(LABELS))]
    layout = Layout(
        Columns(("G",), (0.01,)), {f"B{i}": f for i, f in enumerate(facts)},
        tuple(sorted({f.mandrel_id for f in facts})), tuple(tuple(levels) for levels in met),
    )  # fmt: skip
    prior = Prior.of(layout, STRUCTURES["free"])
    spreads = Spreads(prior.structure.start)
    mean = prior.mean.copy()
    covariance = np.asarray(np.linalg.inv(prior.precision(spreads)), float)
    for name, (middle, sd) in effects.items():
        place = layout.slices["effects"].start + NAMES.index(name)
        mean[place], covariance[place, place] = middle, sd**2
    batches = tuple(
        KnownBatch(b, f.mandrel_id, 1, "2020-01-01", 2, GAPS[i % len(GAPS)])
        for i, (b, f) in enumerate(layout.facts.items())
    )
    return SpringModel(
        version="v1", book_digest="", units="mm", hand=AS_ASSUMED, layout=layout,
        structures=(FittedStructure("free", spreads, mean, covariance),), known=Bands.equal(1), new=Bands.equal(1),
        noise_scale={}, hump=BackPassHump(), batches=batches, steel={},
        coverage=coverage_of_experience({}, {}, layout.levels), set_aside=(), faults=(), validation={},
    )  # fmt: skip


def _knowing(model: SpringModel, **known: np.ndarray) -> SpringModel:
    """The model with another `mean` or `covariance` of its unknowns."""
    return replace(model, structures=(replace(model.lead, **known),))


def _named(model: SpringModel, name: str) -> Effect:
    return next(effect for effect in effects_of(model) if effect.name == name)


def _changing(count: int = 12) -> list[BatchFacts]:
    return [_facts(anneal=0.5 * (i % 3), passes=0.3 * (i % 4)) for i in range(count)]


def test_the_size_is_that_of_one_step_on_a_typical_gap() -> None:
    model = _model(_changing(), passes=(0.2, 0.05))
    effect = _named(model, "passes")
    half = float(student.ppf(0.95, model.freedom)) * 0.05
    growth = [2.0**eta - 1.0 for eta in (0.2, 0.2 - half, 0.2 + half)]  # twice the passes: ln 2 units
    assert typical_gap(model) == pytest.approx(0.3)
    assert [effect.size_mm, effect.low_mm, effect.high_mm] == pytest.approx([0.3 * g for g in growth])
    assert "twice the passes" in effect_words(effect)


def test_every_feature_has_its_shop_words() -> None:
    words = {effect.name: effect_words(effect) for effect in effects_of(_model(_changing()))}
    assert set(NAMES) <= set(words)
    assert not any("up by one" in words[name] for name in NAMES)


def test_a_band_clear_of_zero_alone_is_no_claim() -> None:
    leaning = _named(_model(_changing(), anneal=(0.25, 0.1)), "anneal")
    assert leaning.low_mm > 0 and not leaning.claimed
    assert leaning.finding == "leaning" and "leans" in finding_words(leaning)
    assert _named(_model(_changing(), anneal=(0.5, 0.1)), "anneal").claimed


def test_few_batches_ask_for_more_before_a_claim() -> None:
    assert _named(_model(_changing(40), anneal=(0.35, 0.1)), "anneal").claimed
    assert not _named(_model(_changing(4), anneal=(0.35, 0.1)), "anneal").claimed


def test_what_never_changed_is_not_claimed_whatever_the_fit_says() -> None:
    effect = _named(_model(_changing(), wall=(2.0, 0.1)), "wall")
    assert not effect.claimed and "never changed" in finding_words(effect)


def test_an_effect_against_the_trade_says_so() -> None:
    effect = _named(_model(_changing(), anneal=(-0.6, 0.1)), "anneal")
    assert effect.claimed and effect.high_mm < 0
    assert "other way" in finding_words(effect)


def test_many_labels_of_a_kind_ask_for_more_than_two() -> None:
    """The pair furthest apart of eight lots is further apart by chance than the pair of two."""

    def claimed(lots: int) -> bool:
        model = _model([_facts(lot=f"L{i % lots}") for i in range(24)])
        part = model.layout.slices["lot"]
        covariance, mean = model.lead.covariance.copy(), model.lead.mean.copy()
        covariance[part, part] = np.eye(lots) * 0.5 * 0.1**2
        mean[part.start] = 0.32
        return _named(_knowing(model, mean=mean, covariance=covariance), "lot").claimed

    assert claimed(2) and not claimed(8)


def test_kinds_with_one_label_are_left_out_and_two_are_named() -> None:
    names = [effect.name for effect in effects_of(_model([_facts(lot=f"L{i % 2}") for i in range(6)]))]
    assert "lot" in names and "draw_ring" not in names


def test_nothing_measured_has_no_effects() -> None:
    model = _model([])
    assert effects_of(model) == () and confounded(model) == ()


def test_ring_and_lot_that_changed_together_are_named_with_the_mandrel() -> None:
    rows = [("L1", "nylon"), ("L2", "lead"), ("L1", "nylon"), ("L2", "lead")]
    told = confounded(_model([_facts("OAK", lot=lot, ring=ring) for lot, ring in rows]))
    assert [confounded_words(one) for one in told] == ["Lot and draw ring changed together on mandrel OAK."]


def test_one_batch_that_broke_the_rule_sets_them_apart() -> None:
    rows = [("L1", "nylon"), ("L2", "lead"), ("L1", "lead"), ("L2", "lead")]
    assert confounded(_model([_facts(lot=lot, ring=ring) for lot, ring in rows])) == ()


def test_a_blank_is_no_evidence_either_way() -> None:
    rows = [("L1", "nylon"), ("L2", "lead"), (None, "lead"), ("L2", None)]
    assert confounded(_model([_facts(lot=lot, ring=ring) for lot, ring in rows])) == ()


def test_two_batches_are_one_sentence() -> None:
    told = confounded(_model([_facts("OAK", lot="L1"), _facts("OAK", lot="L2", ring="lead")]))
    assert len(told) == 1 and "Mandrel OAK has two batches" in confounded_words(told[0])


@pytest.mark.parametrize(("turn", "named"), [(-0.9, True), (-0.7, False), (0.9, True)])
def test_effects_that_lean_on_each_other_are_named(turn: float, named: bool) -> None:
    model = _model(_changing(), anneal=(0.1, 0.1), passes=(0.1, 0.1))
    covariance = model.lead.covariance.copy()
    one, other = (model.layout.slices["effects"].start + NAMES.index(name) for name in ("anneal", "passes"))
    covariance[one, other] = covariance[other, one] = turn * 0.1**2
    told = confounded(_knowing(model, covariance=covariance))
    assert any("Anneal and passes cannot be told apart" in confounded_words(pair) for pair in told) is named


def _training(model: SpringModel) -> Training:
    return Training(
        version="v1", how=FittedWhole(NothingLearned(), again=False), in_use=True, reason=IsFirst(),
        batches=12, bells=24, readings=900, full="v1", validation=None, set_aside=(), unmeasured_scrap=0, logged=0,
        log=(), model=model,
    )  # fmt: skip


def test_training_tells_the_claimed_first_in_the_units_of_the_book() -> None:
    model = _model(_changing(), passes=(0.6, 0.1), anneal=(0.01, 0.1))
    lines = training_text(_training(replace(model, units="in"))).splitlines()
    head = next(place for place, line in enumerate(lines) if line.startswith("what drives it"))
    assert "11.8 thou" in lines[head]
    assert "twice the passes" in lines[head + 1] and lines[head + 1].endswith(" found")
    assert any("no anneal" in line and "not found" in line for line in lines)
    effects = {effect["name"]: effect for effect in training_summary(_training(model))["effects"]}
    assert effects["passes"]["claimed"] and not effects["anneal"]["claimed"]


def test_training_without_bells_tells_of_no_effects() -> None:
    done = _training(_model([]))
    assert "what drives it" not in training_text(done)
    assert training_summary(done)["effects"] == []
