"""A revision beside the steel before it, on an exponential flare whose sizes and slopes are known in closed form.

A cylinder shows no slide and a wall all along; a lathe only takes off, and leaves the tail. So a layer of a wall from
tail to rim, a shape further on, or growth on bare steel is a slip; a recut of the flare and chrome are none.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.profile_slips import profile_slips, swapped_sizes
from springfit.records.checks.slips.whole_profiles import odd_revision

Floats = NDArray[np.float64]

TAIL, FLARE, LENGTH = 12.0, 100.0, 45.0  # mm: diameter, what the flare adds at z = 400, its length
Z = np.arange(0.0, 400.1, 4.0)
SHEET = 0.5  # mm
WRITTEN = 0.01  # mm: how sizes are written


def diameter(z: Floats) -> Floats:
    return TAIL + FLARE * np.exp((z - 400) / LENGTH)


def slope(z: Floats) -> Floats:
    return np.arctan(FLARE / LENGTH * np.exp((z - 400) / LENGTH) / 2)


def steel(sizes: Floats, revision: int = 0) -> MandrelProfile:
    return MandrelProfile("OAK", revision, Z, np.round(sizes / WRITTEN) * WRITTEN, slope(Z))


def recut(depth: float) -> Floats:
    """The flare recut by `depth` [mm a side, normal], run out into the tail over 60 mm (a half cosine)."""
    share = 0.5 - 0.5 * np.cos(np.pi * np.clip((Z - 280) / 60, 0, 1))
    return diameter(Z) - 2 * depth * share / np.cos(slope(Z))


def test_a_layer_as_thick_as_a_sheet_off_from_tail_to_rim_was_a_bell() -> None:
    then = steel(diameter(Z) + 2 * SHEET / np.cos(slope(Z)))
    said = odd_revision(steel(diameter(Z), 1), then, units="mm")
    assert "0.5 mm a side smaller" in said
    assert "outside of a bell" in said


@pytest.mark.parametrize("further", [-3.0, -2.0, -1.0, 1.0, 2.0, 3.0])
def test_a_first_profile_off_along_the_axis_is_told_by_the_next(further: float) -> None:
    said = odd_revision(steel(diameter(Z), 1), steel(diameter(Z - further)), units="mm")
    assert f"{abs(further):g} mm off along the axis" in said


def test_bare_steel_that_grew_at_its_rim_alone_is_told() -> None:
    grown = 2 * 0.25 * np.clip((Z - 340) / 20, 0, 1) / np.cos(slope(Z))
    assert "steel does not grow" in odd_revision(steel(diameter(Z) + grown, 1), steel(diameter(Z)), units="mm")


@pytest.mark.parametrize("depth", [0.03, 0.1, 0.3, 0.5])
def test_a_recut_of_the_flare_is_what_steel_is_for(depth: float) -> None:
    assert odd_revision(steel(recut(depth), 1), steel(diameter(Z)), units="mm") == ""


@pytest.mark.parametrize("chrome", [0.005, 0.012, 0.03])
def test_chrome_is_no_other_steel(chrome: float) -> None:
    assert odd_revision(steel(diameter(Z) + 2 * chrome, 1), steel(diameter(Z)), units="mm") == ""


def test_it_is_said_in_the_unit_of_the_book() -> None:
    then = steel(diameter(Z) + 2 * SHEET / np.cos(slope(Z)))
    said = odd_revision(steel(diameter(Z), 1), then, units="in")
    assert "19.7 thou a side" in said
    assert " mm" not in said


@pytest.mark.parametrize("place", [60, 75, 85, 95])
def test_two_neighbours_in_each_others_row(place: int) -> None:
    sizes = steel(diameter(Z)).diameter.copy()
    sizes[[place, place + 1]] = sizes[[place + 1, place]]
    assert swapped_sizes(Z, sizes) == [place]


def test_a_crest_that_is_turned_is_not_swapped() -> None:
    """A bead of 2 mm on a tube falls behind its crest as two swapped sizes do, but over several stations."""
    sizes = diameter(Z) + 2 * np.exp(-(((Z - 200) / 8) ** 2))
    assert (np.diff(sizes) < 0).any()
    assert swapped_sizes(Z, sizes) == []


def test_a_size_is_told_where_it_spoils_a_cut() -> None:
    """0.13 mm of diameter is 0.06 normal on the tail, twice the least cut of 0.025; 0.05 of it is none."""
    sizes = steel(diameter(Z)).diameter
    off = np.where(np.arange(len(Z)) == 40, 1.0, 0.0)
    assert [s.place for s in profile_slips(Z, sizes + 0.13 * off)] == [40]
    assert profile_slips(Z, sizes + 0.05 * off) == []
