"""Wear grows with the bells, a scar is there from one batch on, a steady place is neither, a new revision closes it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.geometry.facets.finder import Facet
from springfit.watching.batches.local_places import LocalPlaces
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.judged_batches import JudgedBatch
from springfit.watching.wear import Wear, worn_places

ARC = np.arange(40.0, 380.0, 4.0)
FACET = Facet("dish", 300.0, 300.0, 0.06, 0.003, 16.0, 0.02, 4.0, 8.0)
STEEL = SteelLine(ARC, ARC, (FACET,))
READING_SD, RIM, BELLS = 0.003, 376.0, 5
WORN_AT, SCAR_AT, PER_BELL = 300.0, 356.0, 0.001  # [mm], [mm a bell]


def batches(
    count: int, seed: int, *, worn: float = 0.0, scar: float = 0.0, odd: float = 0.0, revision: int = 0
) -> list[JudgedBatch]:
    """Batches of five bells whose place at `WORN_AT` shrinks by `worn` a bell, scarred from the third on, the newest
    `odd` there."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(count):
        size = rng.normal(0.0, READING_SD, len(ARC))
        size[ARC == WORN_AT] -= worn * BELLS * (number + 0.5)
        size[ARC == SCAR_AT] += scar * (number >= 2) + odd * (number == count - 1)
        places = LocalPlaces(ARC, size, np.full(len(ARC), READING_SD))
        made.append(
            JudgedBatch(f"b{number}", "M", revision, f"2024-0{number + 1}-01", 9, "", (), (), ("x",) * BELLS, (),
            places, RIM, STEEL, None) )
    return made


def found(judged: list[JudgedBatch]) -> tuple[Wear, ...]:
    counts = {one.batch_id: BELLS for one in judged}
    return worn_places(judged, counts)


@pytest.mark.parametrize("seed", range(5))
def test_a_worn_facet_is_found_before_two_thou(seed: int) -> None:
    wear = next(w for n in range(3, 10) for w in found(batches(n, seed, worn=PER_BELL)))
    assert wear.kind == "worn_facet" and wear.arc == WORN_AT
    assert abs(wear.change) < 0.05
    assert wear.change == pytest.approx(-PER_BELL * wear.bells, abs=3.0 * wear.change_sd)


def test_a_scar_is_told_from_wear_and_from_its_batch_on() -> None:
    (scar,) = found(batches(6, 1, scar=0.05))
    assert (scar.kind, scar.arc, scar.since) == ("trim_scar", SCAR_AT, "b2")


def test_a_batch_read_ill_at_a_place_is_no_scar() -> None:
    """Six standard deviations off."""
    assert not any(found(batches(8, seed, odd=0.03)) for seed in range(20))


def test_a_facet_is_told_by_its_own_ring_before_any_other_place_would_be() -> None:
    """One drift, of the ring of a facet and of a place like any other."""
    seeds, drift = range(12), 0.0011

    def own(judged: list[JudgedBatch]) -> list[JudgedBatch]:
        at = np.array([WORN_AT])
        sizes = [np.array([one.places.at(WORN_AT)[0]]) for one in judged if one.places]
        lost = [size - drift * BELLS * (number + 0.5) for number, size in enumerate(sizes)]
        return [replace(one, facet_places=LocalPlaces(at, size, np.array([READING_SD])))
                for one, size in zip(judged, lost, strict=True)]  # fmt: skip

    by_ring = sum(bool(found(own(batches(5, seed)))) for seed in seeds)
    elsewhere = sum(bool(found(batches(5, seed, worn=drift))) for seed in seeds)
    assert by_ring >= 9 and by_ring > 2 * elsewhere


def test_nothing_is_asked_of_steel_past_the_rim_of_the_bells() -> None:
    worn = [replace(one, rim_arc=WORN_AT - 8.0) for one in batches(6, 2, worn=PER_BELL)]
    assert not found(worn)


def test_steady_steel_shows_no_wear() -> None:
    assert sum(bool(found(batches(6, seed))) for seed in range(60)) <= 3


def test_a_new_revision_closes_wear() -> None:
    worn = batches(5, 3, worn=3.0 * PER_BELL)
    recut = [replace(one, batch_id=f"n{one.batch_id}", revision=1) for one in batches(5, 4)]
    assert {wear.revision for wear in found([*worn, *recut])} == {0}
