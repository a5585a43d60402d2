"""Two diameters of one ring beside those of the next: what an oval bell and a badly set rule do, and what a slip."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from springfit.records.checks.slips.ring_angles import off_by_angle

RINGS, BELLS = 12, 4
STATIONS = 5.0 * np.arange(RINGS)  # mm
SLOPE = np.radians(70.0)
GAUGE, PLACED, OVAL = 0.01, 0.15, 0.2  # mm: sd of a value and of a station, and how far the two diameters lie apart
TENTH = 0.06  # what the gauge and the rings beside leave of a slip


def read_rings(*, anew: bool = False, angles: tuple[float, ...] = (0.0, 90.0)) -> pd.DataFrame:
    """A steep cone's diameters on four oval bells; each station is set once for all angles, or `anew` for each."""
    rng, rows = np.random.default_rng(4), []
    for bell in range(BELLS):
        for z in STATIONS:
            once = rng.normal()
            for angle in angles:
                placed = PLACED * (rng.normal() if anew else once)
                size = 60 + 2 * np.tan(SLOPE) * (z + placed) + OVAL / 2 * np.cos(2 * np.radians(angle))
                rows.append([f"B{bell}", "trimmed", "outside_diameter", "rim", "MIC", z, angle, size])
    names = ["bell_id", "stage", "kind", "datum", "gauge_id", "z_mm", "angle_deg", "value_mm"]
    read = pd.DataFrame(rows, columns=names).assign(code=0, slope=SLOPE)
    return read.assign(station_mm=read["z_mm"], value_mm=read["value_mm"] + GAUGE * rng.normal(size=len(read)))


def off(read: pd.DataFrame) -> pd.Series:
    found = off_by_angle(read, read.groupby(["bell_id", "z_mm"]).ngroup())
    return found[found != 0]


def slipped(read: pd.DataFrame, row: int, size: float) -> pd.DataFrame:
    value = read["value_mm"].copy()
    value[row] += size
    return read.assign(value_mm=value)


@pytest.mark.parametrize("anew", [False, True])
def test_no_sound_ring_is_off(anew: bool) -> None:
    assert off(read_rings(anew=anew)).empty


@pytest.mark.parametrize("size", [0.3, -0.3, 1.0])
@pytest.mark.parametrize("ring", [0, 1, 5, RINGS - 1])
def test_a_slip_of_one_is_off_by_its_size_and_no_other_ring_is(ring: int, size: float) -> None:
    """By the station alone a reading there is off by 0.8 mm of diameter, 1 sd."""
    found = off(slipped(read_rings(), 2 * ring, size))
    assert list(found.index) == [2 * ring, 2 * ring + 1]
    assert found.iloc[0] == pytest.approx(size, abs=TENTH)
    assert found.iloc[1] == pytest.approx(-size, abs=TENTH)


def test_of_four_angles_the_one_is_farthest_off() -> None:
    read = slipped(read_rings(angles=(0.0, 45.0, 90.0, 135.0)), 22, 0.3)
    assert off(read).abs().idxmax() == 22


def test_where_the_rule_is_set_anew_a_slip_is_no_more_than_that() -> None:
    """0.3 mm, where setting the rule makes 0.8 of a diameter."""
    assert off(slipped(read_rings(anew=True), 10, 0.3)).empty


def test_few_steep_rings_show_nothing() -> None:
    """Of one bell's four nobody can say whether its rule was set anew."""
    read = slipped(read_rings(), 2, 0.3)
    assert off(read[(read["bell_id"] == "B0") & (read["z_mm"] < STATIONS[4])]).empty


def test_an_angle_that_is_not_noted_or_stands_twice_says_nothing() -> None:
    read = slipped(read_rings(), 10, 0.3)
    assert off(read.assign(angle_deg=np.nan)).empty
    assert off(read.assign(angle_deg=0.0)).empty


def test_rings_read_at_other_angles_are_other_lobes() -> None:
    """Every other ring was read at 0 and 45 degrees, where half of the oval shows."""
    read = read_rings()
    other = (read["z_mm"] % 10 != 0) & (read["angle_deg"] == 90)
    halved = np.where(other, read["value_mm"] + OVAL / 2, read["value_mm"])
    assert off(read.assign(angle_deg=read["angle_deg"].mask(other, 45.0), value_mm=halved)).empty
