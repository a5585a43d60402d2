"""Places of the steel in a batch's readings: leaves do not feel what it lost, and what was learned of it is left in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.geometry.facets.finder import Facet
from springfit.learning.data.observations import Session
from springfit.watching.batches.local_places import facet_places, local_places
from springfit.watching.batches.predictive import BellRows, Predictive
from tests.helpers.noisy_bell import rows

AT, WORN, WIDTH = 260.0, 0.08, 36.0  # [mm]
FACET = Facet("crown", AT, AT, 0.08, 0.003, WIDTH, -0.02, 4.0, 9.0)


def worn(arc: np.ndarray) -> np.ndarray:
    """What a facet has lost, a raised cosine as long as it is."""
    return -WORN * 0.5 * (1.0 + np.cos(2.0 * np.pi * np.clip((arc - AT) / WIDTH, -0.5, 0.5)))


def bell(seed: int, *, leaves: bool, learned: float = 0.0) -> BellRows:
    """A bell off worn steel, every other reading of it by leaves; a share of the wear was `learned` before."""
    one = rows(seed, step=4.0)
    felt = (np.arange(len(one.rest)) % 2 == 1) & leaves
    sessions = (*one.bell.sessions, Session("trimmed", "free", "LEAVES", np.nan, True))
    lost = np.where(felt, 0.0, worn(one.bell.arc))
    read = replace(one.bell, sessions=sessions, session=felt.astype(np.intp))
    return replace(one, bell=read, rest=one.rest + (1.0 - learned) * lost, of_steel=learned * lost)


def batch(**how: bool | float) -> Predictive:
    some = tuple(bell(seed, **how) for seed in range(5))  # type: ignore[arg-type]
    count = sum(len(one.rest) for one in some)
    return Predictive("b", some, np.zeros((count, 1)), np.zeros(count), None)  # type: ignore[arg-type]


@pytest.mark.parametrize("leaves", [False, True])
def test_a_worn_facet_is_as_deep_whether_or_not_leaves_stood_on_it(leaves: bool) -> None:
    found = facet_places(batch(leaves=leaves), [FACET])
    assert found.size[0] == pytest.approx(-WORN, abs=3.0 * found.sd[0])
    assert found.sd[0] < WORN / 6.0


def test_wear_that_a_version_has_learned_is_not_hidden_by_it() -> None:
    fresh, learned = local_places(batch(leaves=True)), local_places(batch(leaves=True, learned=0.9))
    assert learned.size == pytest.approx(fresh.size)
    assert fresh.at(AT)[0] < -0.8 * WORN


def test_places_that_leaves_alone_have_read_are_not_read() -> None:
    one = bell(1, leaves=True)
    all_felt = replace(one, bell=replace(one.bell, session=np.ones(len(one.rest), dtype=np.intp)))
    found = local_places(Predictive("b", (all_felt,), np.zeros((len(one.rest), 1)), one.rest, None))  # type: ignore[arg-type]
    assert found.arc.size == 0
