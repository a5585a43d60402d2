"""The cut table: chords, corners, the solid rebuilt from the printed rows, marks and inspection limits."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.cut_tables.cutting import CUT_COLUMNS, cut_table, shortfall, turned_steps
from springfit.geometry.meridian import Meridian, offset
from tests.helpers.corrections.decisions_shop import horn, ring
from tests.helpers.corrections.made_meridians import meridian_from_arc

CHORD = 0.025  # mm, between corners
SCALLOP = 0.0025  # mm, how far the rebuilt solid may lie under the line
HORN = horn()
FLARE_CUT = np.where(HORN.s > 220.0, np.minimum(0.2, (HORN.s - 220.0) / 100.0), 0.0)


def table(cut: np.ndarray = FLARE_CUT, *, skive: float = 0.1, mandrel: Meridian = HORN) -> pd.DataFrame:
    return cut_table(mandrel, cut, cut * 1.2, skive_mm=skive)


def under(rows: pd.DataFrame, line: Meridian) -> float:
    """Depth of the solid of printed rows under the line, worked out from the rows alone."""
    dense = line.resampled(0.02)
    worst = 0.0
    starts = np.concatenate(([rows.z_mm.iloc[0] - 8.0], rows.z_mm.to_numpy()[:-1]))
    for start, stop, radius in zip(starts, rows.z_mm, rows.diameter_mm / 2.0, strict=True):
        inside = (dense.z > start) & (dense.z <= stop)
        if inside.any():
            worst = max(worst, float(np.max((dense.r - radius)[inside] * np.cos(dense.slope[inside]))))
    return worst


@pytest.mark.parametrize("decimals, unit", [(3, 1.0), (4, 25.4)])
def test_the_solid_rebuilt_from_printed_rows_is_never_under_the_line(decimals: int, unit: float) -> None:
    printed = table(skive=0.0)
    for column in ("z_mm", "diameter_mm"):
        printed[column] = np.round(printed[column] / unit, decimals) * unit
    line = offset(HORN, -FLARE_CUT)
    assert under(printed, line) <= SCALLOP


def test_skive_stock_stands_on_the_line_everywhere() -> None:
    """Or on the present steel, where that lies nearer than the stock: a step cannot put steel on."""
    stock, less = (offset(HORN, -np.maximum(FLARE_CUT - skive, 0.0)) for skive in (0.1, 0.09))
    assert under(table(skive=0.1), stock) <= SCALLOP
    line = offset(HORN, -FLARE_CUT)
    deep = table(skive=0.1).query("removal_mm > 0.12")
    assert under(deep, offset(line, 0.09)) == 0.0 and under(table(skive=0.1), less) <= SCALLOP + 0.01


def test_the_scallop_check_sees_a_step_in_the_wrong_place() -> None:
    """Using the smaller radius of each interval, the plain mistake, is found out."""
    steps = turned_steps(HORN, 250.0, 317.0)
    assert shortfall(steps.as_printed(), HORN) <= SCALLOP
    wrong = type(steps)(steps.s_mm, steps.z_mm, steps.radius_mm, steps.radius_mm[:-1])
    assert shortfall(wrong, HORN) > 10 * SCALLOP


def test_chords_stay_within_a_thou_of_the_curve_and_use_the_room() -> None:
    steps = turned_steps(HORN, 200.0, 317.0)
    sags = []
    for a, b in zip(steps.s_mm[:-1], steps.s_mm[1:], strict=True):
        p = HORN.at(np.linspace(a, b, 400))
        z, r = p.z - p.z[0], p.r - p.r[0]
        sags.append(np.max(np.abs(z * r[-1] - r * z[-1])) / np.hypot(z[-1], r[-1]))
    assert max(sags) <= CHORD * 1.001
    steps_lengths = np.diff(steps.s_mm)
    tight = steps_lengths < 6.0
    assert np.median(np.array(sags)[tight]) > 0.6 * CHORD


def test_corners_lie_on_the_line() -> None:
    steps = turned_steps(HORN, 200.0, 317.0)
    at = HORN.at(steps.s_mm)
    assert steps.z_mm == pytest.approx(at.z) and steps.radius_mm == pytest.approx(at.r)
    assert steps.turn_radius_mm == pytest.approx(
        steps.radius_mm[1:]
    )  # a flare: the larger one is toward the rim


def test_rows_above_45_degrees_are_read_as_places_of_a_diameter() -> None:
    rows = table()
    slope = np.interp(rows.z_mm, HORN.z, HORN.slope)
    clear = np.abs(slope - np.pi / 4) > 0.02
    assert np.all((rows["read"] == "z")[clear] == (slope > np.pi / 4)[clear])
    by_z, by_size = rows[rows["read"] == "z"], rows[rows["read"] == "diameter"]
    assert len(by_z) > 3 and len(by_size) > 3
    # nothing under the size, 0.025 mm over: on a steep line steel left stands nearer the tail
    assert np.all(by_size.inspect_low_mm == by_size.finish_diameter_mm)
    assert np.all(by_size.inspect_high_mm == by_size.finish_diameter_mm + 0.025)
    assert np.all(by_z.inspect_high_mm == by_z.z_mm) and np.all(by_z.inspect_low_mm < by_z.z_mm)
    assert rows.found_mm.isna().all()


def test_sizes_are_in_order_and_removal_is_what_was_asked() -> None:
    rows = table()
    assert list(rows.columns) == list(CUT_COLUMNS)
    assert np.all(rows.do_not_pass_diameter_mm <= rows.finish_diameter_mm + 1e-9)
    assert np.all(rows.finish_diameter_mm < rows.diameter_mm)
    wanted = np.interp(rows.z_mm, HORN.z, FLARE_CUT)
    assert rows.removal_mm.to_numpy() == pytest.approx(wanted, abs=0.004)
    assert rows.step.tolist() == list(range(1, len(rows) + 1))


def test_a_curve_that_bends_back_is_marked_and_only_that() -> None:
    waved = HORN.slope - 0.08 * np.exp(-(((HORN.s - 250.0) / 12.0) ** 2))
    mandrel = meridian_from_arc(HORN.s, waved, z0=HORN.z[0], r0=HORN.r[0])
    rows = table(np.full(HORN.s.size, 0.1), mandrel=mandrel)
    arc = mandrel.arc_at_z(np.clip(rows.z_mm, mandrel.z[0], mandrel.z[-1]))
    marked = arc[rows.reversed.to_numpy(bool)]
    bent_back = mandrel.s[mandrel.curvature < 0]
    assert marked.size > 0
    assert marked.min() > bent_back.min() - 1 and marked.max() < bent_back.max() + 1
    assert not table().reversed.any()


def test_tail_and_flare_part_where_the_line_is_a_cone() -> None:
    rows = table(np.full(HORN.s.size, 0.1))
    pieces = rows.piece.tolist()
    assert pieces == sorted(pieces, reverse=True) and set(pieces) == {"tail", "flare"}


def test_two_cuts_make_two_stretches_and_none_makes_an_empty_table() -> None:
    two = ring(HORN.s, at=180.0, length=40.0, depth=0.1) + ring(HORN.s, at=280.0, length=40.0, depth=0.1)
    z = table(two).z_mm.to_numpy()
    between = (z > np.interp(203.0, HORN.s, HORN.z)) & (z < np.interp(257.0, HORN.s, HORN.z))
    assert len(z) > 8 and not between.any()
    empty = table(np.zeros(HORN.s.size))
    assert len(empty) == 0 and list(empty.columns) == list(CUT_COLUMNS)


def test_negative_stock_is_refused() -> None:
    with pytest.raises(ValueError, match="expected 0 or more"):
        table(skive=-0.1)
