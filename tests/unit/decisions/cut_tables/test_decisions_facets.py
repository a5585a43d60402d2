"""Facets of a job: matched by place, kept by the bell, cut so that the bell has what is wanted."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.cut_tables.facet_table import FACET_COLUMNS, facet_table
from springfit.decisions.forecast import Forecast
from springfit.geometry.facets.finder import FacetFinder
from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.geometry.seating import best_slide, nearest_point
from springfit.reporting.wording.facet_wording import facets_with_notes
from tests.helpers.corrections.decisions_shop import growing
from tests.helpers.corrections.made_meridians import trim_at_rim
from tests.helpers.originals.facet_lines import FAIR, INCH, Line, Planted, stations

STATED = 0.005  # [mm] 1 sd of a diameter
DISH, DEPTH = 38.0, 0.08  # [mm]
PLACE = 3.0  # [mm]
LINE: Line = FAIR["bessel"](np.random.default_rng(4))
AT = float(LINE.s[np.searchsorted(LINE.slope, np.radians(12.0))])
LENGTH_S = LINE.s[-1]


@cache
def finder(*facets: Planted, spacing: float = INCH / 8, seed: int = 4) -> FacetFinder:
    z, diameter = stations(LINE, spacing, STATED, np.random.default_rng(seed), facets)
    meridian = meridian_from_stations(z, diameter, diameter_error=STATED)
    return FacetFinder(meridian, z, diameter, diameter_error=STATED)


def dish(depth: float = DEPTH, at: float = AT) -> Planted:
    return Planted(at, DISH, depth=depth)


def washing(lost: float) -> Callable[[Meridian], Forecast]:
    """A forecast whose bells spring open over the flare and fill a dish at AT by `lost` of its depth.

    What a made-up bell fills is read off the mandrel itself: its normal distance from the fair line there.
    """
    plain = finder().meridian

    def predict(mandrel: Meridian) -> Forecast:
        bell = trim_at_rim(mandrel, float(mandrel.r[-1]) - 4.0).resampled(1.0)
        off = np.nan_to_num(nearest_point(plain, bell.z, bell.r)[1])
        near = np.abs(bell.s - AT) < DISH / 2
        gap = growing(0.2)(bell.s * 300.0 / LENGTH_S) - lost * np.where(near, off, 0.0)
        nothing = np.zeros(bell.s.size)
        return Forecast(
            name="made up", meridian=bell, arc=bell.s, gap=gap, mean_sd=nothing, bell_sd=nothing,
            shape_sd=nothing, place=best_slide(bell.slope, gap), place_sd=0.0,
            axial=nothing, freedom=9.0, trust=("inside",) * bell.s.size, notes=(),
        )  # fmt: skip

    return predict


def table(steel: FacetFinder, target: FacetFinder, lost: float = 0.2) -> pd.DataFrame:
    predict = washing(lost)
    return facet_table(steel, target, predict(steel.meridian), predict)


def test_no_facet_leaves_the_columns() -> None:
    nothing = table(finder(), finder(seed=5))
    assert tuple(nothing.columns) == FACET_COLUMNS and len(nothing) == 0


def test_a_washed_dish_is_cut_deeper_than_it_is_wanted() -> None:
    (row,) = table(finder(dish()), finder(dish(), seed=5), lost=0.2).to_dict("records")
    assert (row["on"], row["kind"], row["washes_out"]) == ("both", "dish", False)
    assert 0.7 < row["kept_share"] < 0.9
    assert row["depth_to_cut_mm"] > row["wanted_depth_mm"]
    assert abs(row["bell_z_mm"] - row["z_mm"]) < PLACE


def test_a_dish_cut_as_told_gives_the_bell_the_depth_that_is_wanted() -> None:
    steel, target = finder(dish(0.06)), finder(dish(0.10), seed=5)
    (row,) = table(steel, target, lost=0.3).to_dict("records")
    cut = finder(dish(0.06 + row["depth_to_cut_mm"] - row["depth_mm"]), seed=4)
    (facet,) = cut.facets
    bell = washing(0.3)(cut.meridian)
    kept, _ = cut.kept(facet, bell.meridian, bell.gap)
    assert facet.depth * kept == pytest.approx(row["wanted_depth_mm"], rel=0.12)


def test_a_dish_only_wanted_is_tried_on_the_steel() -> None:
    (row,) = table(finder(), finder(dish(), seed=5), lost=0.2).to_dict("records")
    assert (row["on"], row["depth_mm"]) == ("target", 0.0)
    assert 0.65 < row["kept_share"] < 0.95
    assert row["depth_to_cut_mm"] == pytest.approx(row["wanted_depth_mm"] / row["kept_share"], rel=0.01)


def test_a_dish_nobody_wants_is_said_so() -> None:
    (row,) = facets_with_notes(table(finder(dish()), finder(seed=5)), "in").to_dict("records")
    assert (row["on"], row["wanted_depth_mm"], row["note"]) == ("mandrel", 0.0, "not wanted")


def test_dishes_far_apart_are_two_facets() -> None:
    frame = table(finder(dish()), finder(dish(at=AT - 60.0), seed=5))
    assert sorted(frame["on"]) == ["mandrel", "target"]
    assert frame["z_mm"].is_monotonic_increasing


def test_a_dish_that_washes_out_has_no_depth_of_cut() -> None:
    frame = table(finder(dish()), finder(dish(), seed=5), lost=0.95)
    (row,) = facets_with_notes(frame, "in").to_dict("records")
    assert frame.washes_out.tolist() == [True]
    assert row["kept_share"] < 0.25 and np.isnan(row["depth_to_cut_mm"])
    assert row["note"].startswith("washes out")


@cache
def of_sparse_steel() -> pd.DataFrame:
    """The table of a dish that stations half an inch apart show as one facet."""
    for seed in range(12):
        steel = finder(dish(0.12), spacing=INCH / 2, seed=seed)
        if len(steel.facets) == 1 and steel.facets[0].kind == "dish" and steel.facets[0].width > 4 * INCH / 4:
            break
    return table(steel, finder(dish(0.12), seed=5))


@pytest.mark.parametrize("units, word", [("in", "1/4 in"), ("mm", " mm")])
def test_sparse_stations_refuse_a_depth_in_the_words_of_the_shop(units: str, word: str) -> None:
    frame = of_sparse_steel()
    (row,) = facets_with_notes(frame, units).to_dict("records")
    assert np.isfinite(frame.mandrel_needs_mm[0]) and np.isnan(frame.target_needs_mm[0])
    assert np.isnan(row["depth_mm"]) and np.isnan(row["kept_share"]) and np.isnan(row["depth_to_cut_mm"])
    assert "too sparse" in row["note"] and row["note"].endswith(word)
