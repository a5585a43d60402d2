"""Control charts against printed examples and run lengths.

NIST/SEMATECH e-Handbook of Statistical Methods: 6.3.2.2 single values, 6.3.2.3 cumulative sum, 6.3.2.4 weighted mean.
Head start: Lucas & Crosier 1982, Technometrics 24, 199-205, their example as reprinted in a quality handbook, p. 376.
Run lengths: Lucas & Crosier 1982, Crowder 1987 and Lucas & Saccucci 1990 print 168, 465 and 500; the further digits
are of R 4.2.2 with its package spc 0.6.7 (S. Knoth, Statistical Process Control: run lengths), functions xcusum.arl and
xewma.arl, two-sided, run once on 2026-11-27; a simulation here is held to them too.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.watching.charts.control_chart import LEAST_EARLIER, control_chart
from springfit.watching.charts.cumulative_sum import cumulative_sum
from springfit.watching.charts.weighted_mean import weighted_mean
from tests.reference.watching.run_lengths import run_length_of_mean, run_length_of_single, run_length_of_sum

TWO_PLACES, FOUR_PLACES, ONE_PLACE = 0.0051, 5e-5, 0.051
HALF_A_PER_CENT, THREE_PER_CENT = 0.005, 0.03

WEIGHTED = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4,
            53.6, 52.1]  # fmt: skip
WEIGHTED_PRINTED = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                    49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip
SUMMED = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
          328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]  # fmt: skip
SUMMED_PRINTED = [3.007, 4.940, 7.447, 10.630, 11.988, 14.445, 16.002, 19.035]  # high sums of values 13 to 20
SINGLE = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
HEAD_START = [0.8, 1.9, 1.4, 2.0, 1.1, 0.7, 2.6]


def test_weighted_mean_of_the_handbook() -> None:
    chart = weighted_mean(WEIGHTED, target=50.0, sd=2.0539, share=0.3, width=3.0, settled=True)
    assert chart.mean == pytest.approx(WEIGHTED_PRINTED, abs=TWO_PLACES)
    assert chart.limit[0] == pytest.approx(52.588432 - 50.0, abs=FOUR_PLACES)
    assert not chart.signal.any()


def test_single_values_of_the_handbook() -> None:
    """None of the ten is past the limits printed with them, 45.8159 and 55.8041; a value just past either is told."""
    low, high = 45.8159, 55.8041

    def past(value: float) -> bool:
        score = (value - (low + high) / 2) / ((high - low) / 6)
        return control_chart([score], [LEAST_EARLIER]).by[0] == "value"

    assert not any(past(value) for value in (*SINGLE, low + 0.01, high - 0.01))
    assert past(low - 0.01) and past(high + 0.01)


def test_cumulative_sum_of_the_handbook() -> None:
    chart = cumulative_sum(np.array(SUMMED) - 325.0, reference=0.3175, decision=4.1959, head_start=0.0, restart=False)
    assert chart.high[12:] == pytest.approx(SUMMED_PRINTED, abs=0.003)
    assert chart.low.max() == pytest.approx(0.715, abs=0.003)
    assert np.flatnonzero(chart.signal)[0] == 14 - 1


def test_head_start_of_lucas_and_crosier() -> None:
    plain = cumulative_sum(HEAD_START, head_start=0.0, restart=False)
    assert plain.high == pytest.approx([0.3, 1.7, 2.6, 4.1, 4.7, 4.9, 7.0], abs=1e-9)
    assert list(np.flatnonzero(plain.signal)) == [6]
    begun = cumulative_sum(HEAD_START, restart=False)
    assert begun.high[:3] == pytest.approx([2.8, 4.2, 5.1], abs=1e-9)
    assert np.flatnonzero(begun.signal)[0] == 2


def test_after_a_signal_the_sum_begins_anew() -> None:
    chart = cumulative_sum([*HEAD_START[:3], 0.0])
    assert chart.signal[2] == 1
    assert chart.high[3] == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("shift", "decision", "runs"),
    [(0.0, 4.0, 167.68379), (0.5, 4.0, 26.630203), (1.0, 4.0, 8.3831319), (0.0, 5.0, 465.44351),
     (0.5, 5.0, 37.996143), (1.0, 5.0, 10.37597), (0.0, 4.77, 368.56139), (1.0, 4.77, 9.9170425)],
)  # fmt: skip
def test_run_lengths_of_the_sum(shift: float, decision: float, runs: float) -> None:
    assert run_length_of_sum(shift, decision=decision) == pytest.approx(runs, rel=HALF_A_PER_CENT)


@pytest.mark.parametrize(("shift", "runs"), [(0.0, 430.39084), (0.5, 28.66583), (1.0, 6.3468505)])
def test_run_lengths_of_the_sum_with_a_head_start(shift: float, runs: float) -> None:
    assert run_length_of_sum(shift, head_start=2.5) == pytest.approx(runs, rel=HALF_A_PER_CENT)


@pytest.mark.parametrize(
    ("share", "width", "shift", "runs"),
    [(0.1, 2.814, 0.0, 499.57955), (0.1, 2.814, 0.5, 31.297435), (0.1, 2.814, 1.0, 10.330665),
     (0.2, 2.962, 0.0, 499.73512), (0.2, 2.962, 0.5, 41.764396), (0.2, 2.962, 1.0, 10.541666),
     (0.3, 3.0, 0.0, 465.55343), (0.3, 3.0, 1.0, 11.698629), (0.1, 2.7, 0.0, 368.99373)],
)  # fmt: skip
def test_run_lengths_of_the_weighted_mean(share: float, width: float, shift: float, runs: float) -> None:
    assert run_length_of_mean(shift, share=share, width=width) == pytest.approx(runs, rel=HALF_A_PER_CENT)


@pytest.mark.parametrize(("shift", "runs"), [(0.0, 370.398), (1.0, 43.895), (2.0, 6.303)])
def test_run_lengths_of_single_values(shift: float, runs: float) -> None:
    assert run_length_of_single(shift) == pytest.approx(runs, rel=1e-4)


def test_run_lengths_with_a_head_start_by_simulation() -> None:
    """The chart as it is used, restarted by its own signals: one-sigma shift from the first value."""
    values = np.random.default_rng(8).normal(size=(4000, 120)) + 1.0
    runs = [int(np.flatnonzero(cumulative_sum(row).signal)[0]) + 1 for row in values]
    assert np.mean(runs) == pytest.approx(run_length_of_sum(1.0, head_start=2.5), rel=THREE_PER_CENT)
