"""What a mandrel's own bells say: profiles with the seat taken out, batches counted as batches, bounds, places read."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.stats import t as student

from springfit.decisions.bells.bell_profile import LEAST_MOVE_MM, Datums, Profile, profile_of, station_index
from springfit.decisions.bells.bell_support import APART_MM, COUNTS_AS, HEATS, REACH_MM, support_of
from springfit.decisions.bells.own_bells import BatchMean, OwnBells, no_bells
from springfit.learning.data.observations import BellReadings, Session
from tests.helpers.corrections.decisions_shop import horn

HORN = horn()
ARCS = np.linspace(40.0, 310.0, 19)
MICRON = 0.001


def still(arc: float) -> float:
    """A bell whose lines have not moved."""
    return 0.0


def datums(*, felt: tuple[str, ...] = (), axial_at: Callable[[float], float] = still) -> Datums:
    return Datums({"G": 0.003}, frozenset(felt), axial_at)


def bell(gap: np.ndarray, *, seat: float = 0.0, datum: str = "witness", name: str = "B1") -> BellReadings:
    """A bell read at ARCS by one gauge, set `seat` [mm] too far toward the rim."""
    slope = HORN.at(ARCS).slope
    nothing = np.zeros(ARCS.size)
    return BellReadings(
        name, "B", ARCS, slope, gap - seat * np.sin(slope), nothing + 0.004**2, nothing, nothing + 1.0,
        nothing.astype(np.intp), (Session("trimmed", datum, "G", np.nan if datum == "free" else 200.0),),
        0.5, ARCS.size,
    )  # fmt: skip


def profile(bells: list[BellReadings], known: Datums) -> Profile:
    made = profile_of([(one, np.arange(ARCS.size)) for one in bells], known)
    assert made is not None
    return made


def batches(*gaps: np.ndarray, own: float = 0.002, shared: float = 0.0, revision: int = 0) -> OwnBells:
    """Batches whose mean gaps are known at ARCS."""
    sd = np.full(ARCS.size, own)
    told = tuple(
        BatchMean(f"B{i}", "2025-01-01", revision, 4, Profile(np.arange(ARCS.size), gap, sd, 0 * sd + shared), (), ())
        for i, gap in enumerate(gaps)
    )
    return OwnBells(ARCS, HORN.at(ARCS).z, told)


def test_readings_within_a_few_millimetres_are_one_station() -> None:
    arc, number = station_index(np.array([100.0, 10.0, 12.0, 101.5, 60.0]))
    assert arc == pytest.approx([11.0, 60.0, 100.75])
    assert number.tolist() == [2, 0, 0, 2, 1]


def test_a_profile_without_seats_is_the_mean_of_its_bells() -> None:
    gap = 0.1 * (ARCS / 310.0) ** 2
    made = profile([bell(gap - 0.01), bell(gap + 0.01)], datums())
    assert made.gap == pytest.approx(gap, abs=MICRON)


def test_seats_average_out_and_widen_what_is_said_where_the_flare_is_steep() -> None:
    random = np.random.default_rng(1)
    gap, off = 0.1 * (ARCS / 310.0) ** 2, []
    for _ in range(60):
        seats = 0.08 * random.standard_normal(6)
        made = profile([bell(gap, seat=seat) for seat in seats], datums())
        off.append((made.gap - gap) / made.own_sd)
    assert made.own_sd[-1] > 3.0 * made.own_sd[0]
    assert np.sqrt(np.mean(np.square(off), axis=0))[-4:] == pytest.approx(0.95, abs=0.3)  # as wide as it is off


def test_a_bell_with_no_axial_reference_says_nothing_of_a_slide() -> None:
    gap = 0.1 * (ARCS / 310.0) ** 2
    untied, tied = (profile([bell(gap, datum=datum)], datums()) for datum in ("free", "witness"))
    assert untied.own_sd[-1] > 1.0 > 0.1 > tied.own_sd[-1]


def test_a_line_that_moved_is_taken_back() -> None:
    gap = 0.1 * (ARCS / 310.0) ** 2
    read = gap + 0.2 * np.sin(HORN.at(ARCS).slope)  # the line moved 0.2 mm toward the rim, so all reads as slid back
    made = profile([bell(read)], datums(axial_at=lambda arc: 0.2))
    assert made.gap == pytest.approx(gap, abs=MICRON)
    assert made.shared_sd[-1] > 0.05  # and that is forecast, not read


def test_what_all_bells_share_does_not_average_out() -> None:
    gap = np.full(ARCS.size, 0.05)
    one, many = (profile([bell(gap)] * count, datums()) for count in (1, 16))
    assert many.own_sd[0] < 0.5 * one.own_sd[0]
    assert many.shared_sd[0] == pytest.approx(one.shared_sd[0], rel=0.05)
    line = LEAST_MOVE_MM * np.sin(HORN.at(ARCS[0]).slope)  # of the witness line, and the gauge's own 0.003
    assert one.shared_sd[0] == pytest.approx(np.hypot(0.003, line), rel=0.02)


def test_batches_are_counted_as_batches() -> None:
    """By hand: three means at one place, the usual spread counting as three more."""
    gaps = [0.09, 0.12, 0.12]
    made = support_of(batches(*(np.full(ARCS.size, g) for g in gaps)), HORN, HORN, revision=0)
    usual, apart = (HEATS * 0.11) ** 2 + 0.002**2, 2 * 0.01**2 + 0.02**2
    spread = np.sqrt((COUNTS_AS * usual + apart) / (COUNTS_AS + 2))
    row = int(np.argmin(np.abs(HORN.s - 200.0)))
    assert made.error[row] == pytest.approx(0.11, abs=1e-6)
    assert made.sd[row] == pytest.approx(spread / np.sqrt(3), rel=1e-3)
    assert made.freedom[row] == COUNTS_AS + 2
    lower = 0.11 - student.ppf(10 / 11, COUNTS_AS + 2) * spread / np.sqrt(3)
    assert made.lower(10 / 11)[row] == pytest.approx(lower, abs=1e-5)
    twenty = support_of(batches(*[np.full(ARCS.size, 0.11)] * 20), HORN, HORN, revision=0)
    assert twenty.sd[row] < 0.5 * made.sd[row]


@pytest.mark.parametrize("worst", [0.005, 0.08], ids=["read alike", "some read ill"])
def test_the_bound_is_passed_as_often_as_it_says_however_unequally_batches_were_read(worst: float) -> None:
    """Three batches apart as heats are: an ill-read one must neither hide what the others bear out nor bear it out."""
    random, draws, passed = np.random.default_rng(3), 1500, 0
    for _ in range(draws):
        own = random.uniform(0.005, worst, 3)
        gaps = 0.1 * (1 + HEATS * random.standard_normal(3)) + own * random.standard_normal(3)
        told = [batches(np.full(ARCS.size, gap), own=sd).batches[0] for gap, sd in zip(gaps, own, strict=True)]
        made = support_of(OwnBells(ARCS, HORN.at(ARCS).z, tuple(told)), HORN, HORN, revision=0)
        passed += made.lower(10 / 11)[int(np.argmin(np.abs(HORN.s - 200.0)))] > 0.1
    assert 0.035 < passed / draws < 1 / 11  # the bound is one of eleven; with the usual spread as prior, rarer


def test_one_station_alone_bears_out_no_groove() -> None:
    """A quarter inch apart, 0.04 mm more at one station: half of it goes; the same of three stations is borne out."""
    arcs = np.arange(40.0, 310.0, REACH_MM)
    nothing = np.zeros(arcs.size)

    def lower(*higher: int) -> np.ndarray:
        gap = np.full(arcs.size, 0.1)
        gap[list(higher)] += 0.04
        profile = Profile(np.arange(arcs.size), gap, nothing + 0.002, nothing)
        bells = OwnBells(arcs, HORN.at(arcs).z, (BatchMean("B0", "2025-01-01", 0, 4, profile, (), ()),))
        return support_of(bells, HORN, HORN, revision=0).lower(10 / 11)

    row = int(np.argmin(np.abs(HORN.s - arcs[20])))
    alone, together = lower(20)[row] - lower()[row], lower(19, 20, 21)[row] - lower()[row]
    assert alone == pytest.approx(0.5 * together, rel=0.2)
    flat = np.flatnonzero(lower(20) > lower(20)[row] - 1e-9)
    assert np.ptp(HORN.s[flat]) > REACH_MM - 3.0  # as wide as stations lie apart, less the step of the line's own


def test_a_station_that_one_batch_alone_read_does_not_speak_against_the_others() -> None:
    """Four batches bear out 0.1 mm on both sides of it, one of them reads 0.06 there, and surely no better: were the
    station not read at all, all four would speak for it."""
    gaps = [np.full(ARCS.size, 0.1 + 0.01 * (i % 2)) for i in range(4)]
    gaps[0][12] = 0.06
    bells = batches(*gaps, own=0.02)
    keep = np.delete(np.arange(ARCS.size), 12)
    lacking = [
        BatchMean(one.batch_id, one.spun_on, 0, 4, Profile(keep, *(x[keep] for x in parts)), (), ())
        for one in bells.batches[1:]
        for parts in [(one.profile.gap, one.profile.own_sd, one.profile.shared_sd)]
    ]
    made = support_of(OwnBells(bells.arc, bells.z, (bells.batches[0], *lacking)), HORN, HORN, revision=0)
    there, beside = (int(np.argmin(np.abs(HORN.s - ARCS[station]))) for station in (12, 11))
    assert made.sd[there] < 1.3 * made.sd[beside]
    assert made.error[there] == pytest.approx((0.06 + 0.1 + 2 * 0.11) / 4, abs=0.005)
    assert made.freedom[there] == made.freedom[beside]
    assert made.lower(10 / 11)[there] > 0.0


def test_a_batch_of_an_earlier_steel_is_a_little_less_sure_and_another_sheet_is_not_used() -> None:
    gap = np.full(ARCS.size, 0.02)
    here, carried = (support_of(batches(gap, gap), HORN, HORN, revision=revision) for revision in (0, 1))
    assert carried.sd[100] > here.sd[100]
    other = OwnBells(ARCS, HORN.at(ARCS).z, tuple(
        BatchMean(b.batch_id, b.spun_on, b.revision, b.bells, b.profile, ("temper",), ()) for b in batches(gap).batches
    ))  # fmt: skip
    assert not support_of(other, HORN, HORN, revision=0).speaks
    assert not support_of(no_bells(), HORN, HORN, revision=0).speaks


def test_bells_speak_near_a_station_and_between_two_near_ones_only() -> None:
    arcs = np.array([100.0, 100.0 + 0.9 * APART_MM, 250.0])
    told = OwnBells(arcs, HORN.at(arcs).z, (
        BatchMean("B", "2025-01-01", 0, 4, Profile(np.arange(3), np.zeros(3), np.ones(3), np.ones(3)), (), ()),
    ))  # fmt: skip
    read = support_of(told, HORN, HORN, revision=0).read
    for place, wanted in (
        (100.0 - 0.9 * REACH_MM, True), (100.0 - 1.2 * REACH_MM, False), (120.0, True), (200.0, False),
        (250.0 + 0.9 * REACH_MM, True), (250.0 + 1.2 * REACH_MM, False),
    ):  # fmt: skip
        assert read[int(np.argmin(np.abs(HORN.s - place)))] == wanted, place
