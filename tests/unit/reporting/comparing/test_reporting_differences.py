"""What a change of conditions does, said by zone: numbers of the table, larger and smaller told apart, one unit."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.decisions.compared_conditions import Difference
from springfit.reporting.comparing.compared_figure import compared_picture
from springfit.reporting.comparing.comparison_summary import summarise_comparison
from springfit.reporting.comparing.difference_wording import difference_words, zone_differences
from tests.helpers.corrections.reporting_example import example_forecast, example_meridian

THOU = 0.0254
BAND = 1.6448536  # standard deviations each way of a normal 90 % band


def difference(rim_mm: float, half_mm: float, *, name: str = "anneal fully", draw_end: float = 200.0) -> Difference:
    """One that grows with the sixth power of the arc to `rim_mm`, and its half band with it."""
    steel = example_meridian()
    share = (steel.s / steel.length) ** 6
    return Difference(
        steel.s, rim_mm * share, half_mm / BAND * share, 1e6, name=name, against="usual", z=steel.z, slope=steel.slope,
        draw_end=draw_end,
    )  # fmt: skip


def test_the_rim_is_said_with_its_band_in_the_shops_unit() -> None:
    told = difference(-6 * THOU, 3 * THOU)
    said = "anneal fully against usual: rim 6.0 thou smaller (3.0 to 9.0); flare "
    assert difference_words(told, "in").startswith(said)
    assert "rim 0.152 mm smaller (0.076 to 0.229)" in difference_words(told, "mm")
    assert "rim 6.0 thou larger (3.0 to 9.0)" in difference_words(difference(6 * THOU, 3 * THOU), "in")


@pytest.mark.parametrize(("rim", "word", "other"), [(2.0, "larger", "smaller"), (-2.0, "smaller", "larger")])
def test_a_band_over_nought_says_both_ways(rim: float, word: str, other: str) -> None:
    told = difference_words(difference(rim * THOU, 3 * THOU), "in")
    assert f"rim 2.0 thou {word} (1.0 {other} to 5.0 {word})" in told


def test_what_no_caliper_tells_is_the_same() -> None:
    told = difference_words(difference(0.2 * THOU, 0.2 * THOU), "in")
    assert "rim the same to 0.4 thou" in told and "larger" not in told
    assert "rim no different (3.0 smaller to 3.0 larger)" in difference_words(difference(0.01 * THOU, 3 * THOU), "in")
    assert "rim the same; " in difference_words(difference(0.0, 0.0), "in")


def test_zones_are_those_that_are_watched_and_the_largest_of_each_is_told() -> None:
    told = difference(-0.2, 0.05)
    zones = {zone.zone: zone for zone in zone_differences(told)}
    assert list(zones) == ["rim", "flare", "overlap", "throat"]
    assert zones["rim"].z_mm == pytest.approx(told.z[-1]) and zones["rim"].difference_mm == pytest.approx(-0.2)
    for zone in zones.values():
        assert zone.difference_mm == pytest.approx(float(np.interp(zone.z_mm, told.z, told.gap)), abs=1e-9)
        assert zone.low_mm <= zone.difference_mm <= zone.high_mm
    assert abs(float(np.interp(zones["overlap"].z_mm, told.z, told.arc)) - told.draw_end) <= 12.0
    assert "overlap" not in {zone.zone for zone in zone_differences(difference(-0.2, 0.05, draw_end=0.0))}


def test_one_picture_lies_over_all_conditions_and_tells_them_apart_without_colour() -> None:
    names = ("usual", "anneal fully", "one pass more")
    forecasts = [example_forecast(name=name, scale=1.0 - 0.2 * n) for n, name in enumerate(names)]
    differences = [difference(-0.05 * n, 0.02, name=name) for n, name in enumerate(names) if n]
    above, below = compared_picture(forecasts, differences, units="in").axes
    lines = above.get_lines()[: len(names)]
    assert [line.get_label() for line in lines] == list(names)
    assert len({line.get_linestyle() + str(line.is_dashed()) + str(line._dash_pattern) for line in lines}) == 3
    assert {line.get_color() for line in [*lines, *below.get_lines()]} == {"black"}
    np.testing.assert_allclose(below.get_lines()[1].get_ydata(), differences[1].gap / THOU)
    summary = summarise_comparison(differences, units="in")
    assert len(summary.lines) == 2 and len(summary.table.rows) == 8
