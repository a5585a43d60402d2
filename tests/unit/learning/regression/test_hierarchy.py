"""The hierarchical solve against plain dense conditioning of the same readings."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.hierarchy import local_jacobian, solve
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.link import MULTIPLIERS, OF_BATCH, OWN
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import SEATS, Columns, Summaries

BATCHES, BELLS, ROWS = 3, 2, 40
# Multipliers are all but switched off, so that the model is linear and dense conditioning is exact. What a batch has
# beside them is added, not multiplied, and stays: its own departures, and those that go with its features.
SIZES = ("bell_hoop", "bell_along", "batch_hoop", "effects", *LABELS)
OFF = {
    "free": dict.fromkeys((*SIZES, *OF_BATCH), 1e-7),
    "laid": dict.fromkeys(SIZES, 1e-7),
    "varied": dict.fromkeys((*SIZES, "batch_along"), 1e-7),
}
MANY, LOOSE = 30, 0.35  # batches, and 1 sd of what is thought of their sizes' logarithms
Raw = list[tuple[np.ndarray, np.ndarray, str]]


@pytest.fixture(scope="module")
def problem() -> tuple[Summaries, Layout, Raw]:
    """Random designs and readings of two bells in each of three batches, with their summaries."""
    rng = np.random.default_rng(5)
    columns = Columns(("MIC",), (0.003,))
    facts = {
        f"b{i}": BatchFacts(f"m{i % 2}", rng.normal(size=len(BATCH_FEATURES)), tuple(None for _ in LABELS))
        for i in range(BATCHES)
    }
    layout = Layout(columns, facts, ("m0", "m1"), tuple(() for _ in LABELS))
    raw = []
    for i in range(BATCHES):
        for _ in range(BELLS):
            design = rng.normal(size=(ROWS, columns.all)) * 0.3
            design[:, columns.shared + 3 :] = 0.0  # two sessions
            raw.append((design, rng.normal(size=ROWS) * 0.1, f"b{i}"))
    return _summed(columns, raw), layout, raw


def _summed(columns: Columns, raw: Raw) -> Summaries:
    """Bells of two sessions, to the tail and to a witness line, each reading good to 0.02 mm."""
    weight, ids = 1.0 / 0.02**2, tuple(batch for *_, batch in raw)
    datum = np.full((len(raw), SEATS), -1)
    datum[:, 0], datum[:, 1] = 0, 1
    return Summaries(
        columns, tuple(f"bell{i}" for i in range(len(raw))), ids,
        np.array([weight * design.T @ design for design, *_ in raw]),
        np.array([weight * design.T @ gap for design, gap, _ in raw]),
        np.array([weight * gap @ gap for _, gap, _ in raw]), np.full(len(raw), float(ROWS)), datum,
    )  # fmt: skip


@pytest.mark.parametrize("name", OFF)
def test_the_solve_is_dense_conditioning_where_the_model_is_linear(
    name: str, problem: tuple[Summaries, Layout, Raw]
) -> None:
    summaries, layout, raw = problem
    structure = STRUCTURES[name]
    prior, spreads = Prior.of(layout, structure), Spreads({**structure.start, **OFF[name]})
    ours = solve(summaries, layout, prior, spreads)

    covariance = np.linalg.inv(prior.precision(spreads))
    rows, noise, gaps, of_batch = [], [], [], []
    for index, (design, gap, batch) in enumerate(raw):
        facts = layout.facts[batch]
        k, jacobian, own = layout.linearised_at(facts, prior.mean, np.zeros(OWN), structure.link)
        local = design @ local_jacobian(layout.columns, k)
        variance = spreads.local_variance(summaries.datum[[index]])[0]
        noise.append(0.02**2 * np.eye(len(gap)) + (local * variance) @ local.T)
        jacobian[:, ~prior.learned] = 0.0  # held at nought, so that no batch is asked of it
        rows.append(design[:, : layout.columns.shared] @ jacobian)
        of_batch.append(design[:, : layout.columns.shared] @ own)
        gaps.append(gap)
    design, gap = np.vstack(rows), np.concatenate(gaps)
    total = design @ covariance @ design.T
    for index, block in enumerate(noise):
        part = slice(index * ROWS, (index + 1) * ROWS)
        total[part, part] += block
    for number in range(BATCHES):  # bells of a batch have its departures in common
        part = slice(number * BELLS * ROWS, (number + 1) * BELLS * ROWS)
        shared = np.vstack(of_batch[number * BELLS : (number + 1) * BELLS])
        total[part, part] += (shared * spreads.batch_variance(layout, f"b{number}", prior.mean)) @ shared.T
    gain = np.linalg.solve(total, design @ covariance).T
    mean = prior.mean + gain @ (gap - design @ prior.mean)
    spread = covariance - gain @ design @ covariance
    assert np.abs(ours.mean - mean).max() < 1e-4 * np.abs(mean).max()
    sd, expected = np.sqrt(np.diag(ours.covariance)), np.sqrt(np.diag(spread))
    assert np.abs(sd / expected - 1).max() < 1e-3
    known = len(FIELDS)
    assert np.any(
        expected[:known] < 0.9 * np.sqrt(np.diag(covariance))[:known]
    )  # the readings did teach something


def test_batches_that_differ_in_shape_are_of_no_larger_size_than_their_shop() -> None:
    """Every batch of a drawn shop is of the shop's size and has departures of its own: sizes are nought on the mean.
    Where a departure goes with the size of its batch they are not, for a larger size makes all of them cheaper."""
    rng, columns, structure = np.random.default_rng(6), Columns(("MIC",), (0.003,)), STRUCTURES["laid"]
    facts = {f"b{i}": BatchFacts("m", np.zeros(len(BATCH_FEATURES)), tuple(None for _ in LABELS)) for i in range(MANY)}
    layout = Layout(columns, facts, ("m",), tuple(() for _ in LABELS))
    prior, spreads = Prior.of(layout, structure), Spreads({**structure.start, "batch_hoop": LOOSE})
    raw, departed = [], np.sqrt(spreads.batch_variance(layout, "b0", prior.mean))
    departed[:MULTIPLIERS] = 0.0
    for batch in facts:
        k = layout.linearised_at(facts[batch], prior.mean, departed * rng.normal(size=OWN), structure.link)[0]
        design = 0.3 * rng.normal(size=(ROWS, columns.all))
        design[:, columns.shared :] = 0.0
        raw.append((design, design[:, : columns.shared] @ k + 0.02 * rng.normal(size=ROWS), batch))
    found = solve(_summed(columns, raw), layout, prior, spreads)
    sizes = np.array([found.batches[batch].u[0] for batch in facts])
    assert abs(sizes.mean()) < 0.1 * LOOSE
    assert found.mean[[field.name for field in FIELDS].index("laid")] == pytest.approx(1.0, abs=0.1)


def test_leaving_a_batch_out_leaves_all_its_bells_out(problem) -> None:  # type: ignore[no-untyped-def]
    summaries, *_ = problem
    kept = summaries.only(np.array([batch != "b1" for batch in summaries.batch_ids]))
    assert set(kept.batch_ids) == {"b0", "b2"} and len(kept.bell_ids) == BELLS * (BATCHES - 1)
    assert set(kept.bell_ids).isdisjoint(
        b for b, batch in zip(summaries.bell_ids, summaries.batch_ids, strict=True) if batch == "b1"
    )
