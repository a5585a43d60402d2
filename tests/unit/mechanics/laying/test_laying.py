"""The laying run as a caller sees it: inputs refused by name, cutting, caching, reading between stations."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from springfit.mechanics.laying import Fineness, Laid, LayingCase, LayingFailure, lay, lay_many
from springfit.mechanics.laying.grading import node_arcs, nose_path
from springfit.mechanics.laying.keeping import case_key
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.preform import bubble
from springfit.mechanics.shell.release import ShellOfRevolution

BRASS = FlowCurve(110_000.0, 0.345, 750.0, 0.4, 150.0)


def small_case(height: float = 0.4) -> LayingCase:
    """A short flare, 30 mm of arc from 20 mm radius, slope 0.5 to 1.3."""
    s = np.linspace(0.0, 30.0, 121)
    slope = 0.5 + 0.8 * s / 30.0
    step = np.diff(s)
    z = np.concatenate([[0.0], np.cumsum(step * np.cos(0.5 * (slope[1:] + slope[:-1])))])
    r = 20.0 + np.concatenate([[0.0], np.cumsum(step * np.sin(0.5 * (slope[1:] + slope[:-1])))])
    return LayingCase(s, z, r, slope, bubble(s, height=height, start=6.0, end=36.0), 0.5, BRASS, 8.0, 6.0)


@pytest.fixture(scope="module")
def run() -> Laid:
    return lay(small_case())


def test_equilibrium_without_friction_ties_the_two_forces(run: Laid) -> None:
    """d(r N_s)/ds = N_theta sin(phi) on the steel, up to the small part the moments carry."""
    case = small_case()
    r, slope = np.interp(run.s, case.s, case.r), np.interp(run.s, case.s, case.slope)
    steps = 0.5 * np.diff(run.s) * ((run.n_theta * np.sin(slope))[1:] + (run.n_theta * np.sin(slope))[:-1])
    gathered = np.concatenate([[0.0], np.cumsum(steps)])
    drift = r * run.n_s - run.n_s[0] * r[0] - gathered
    assert np.max(np.abs(drift)) < 0.12 * np.max(np.abs(r * run.n_s))


def test_the_rim_is_free(run: Laid) -> None:
    assert abs(run.n_s[-1]) < 0.05 * np.max(run.n_s)
    assert abs(run.m_s[-1]) < 0.05 * np.max(np.abs(run.m_s))


def test_a_preform_that_lies_on_the_steel_springs_nowhere() -> None:
    nothing = lay(small_case(height=0.0))
    assert np.max(np.abs(nothing.gap)) < 2.0e-4
    assert np.max(nothing.equivalent_strain) == 0.0


def test_the_linear_shell_gives_the_gap_back_from_the_four_resultants(run: Laid) -> None:
    """The same locked-in state let go by the linear shell: 2 % (rms) of the largest gap."""
    case = small_case()
    kept = case.s < run.rim
    there = run.at(case.s[kept])
    shell = ShellOfRevolution.on_inner_surface(
        case.s[kept], case.z[kept], case.r[kept], case.slope[kept],
        wall=case.wall, youngs_modulus=BRASS.youngs_modulus, poisson_ratio=BRASS.poisson_ratio,
    )  # fmt: skip
    freed = shell.release(n_s=there.n_s, n_theta=there.n_theta, m_s=there.m_s, m_theta=there.m_theta)
    error = freed.normal - there.gap
    assert np.sqrt(np.mean(error**2)) < 0.02 * np.max(np.abs(there.gap))


def test_cutting_drops_what_lies_past_the_cut(run: Laid) -> None:
    cut = lay(small_case(), trim_at=24.0)
    assert cut.rim == pytest.approx(24.0, abs=0.2)
    assert cut.s[-1] < 24.2
    inner = run.s < 15.0
    assert np.allclose(cut.at(run.s[inner]).n_theta, run.n_theta[inner], atol=4.0)


def test_between_stations_and_shares(run: Laid) -> None:
    there = run.at(np.array([5.0, 20.0]))
    assert there.gap[1] == pytest.approx(np.interp(20.0, run.s, run.gap))
    hoop, meridional, moment = run.shares(wall=0.5, flow_stress=150.0)
    assert hoop[10] == pytest.approx(-run.n_theta[10] / 75.0)
    assert meridional[10] == pytest.approx(run.n_s[10] / 75.0)
    assert moment[10] == pytest.approx(run.m_s[10] / (150.0 * 0.25 / 4.0))
    with pytest.raises(ValueError, match="read-only"):
        run.gap[0] = 1.0


def test_many_cases_are_kept_in_the_folder_given(tmp_path: Path, run: Laid, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[tuple[int, int]] = []
    first = lay_many([small_case()], folder=tmp_path, progress=lambda done, total: told.append((done, total)))
    assert told == [(1, 1)]
    monkeypatch.setattr("springfit.mechanics.laying.keeping.lay", None)  # a second run could not be made
    again = lay_many([small_case()], folder=tmp_path)
    assert first[0] is not None and again[0] is not None
    assert np.array_equal(first[0].gap, again[0].gap)
    assert np.array_equal(first[0].gap, run.gap)
    assert not list(tmp_path.glob("*.part"))


def test_a_torn_result_is_worked_out_again(tmp_path: Path, run: Laid) -> None:
    lay_many([small_case()], folder=tmp_path)
    (kept,) = tmp_path.glob("*.npz")
    kept.write_bytes(kept.read_bytes()[:200])
    again = lay_many([small_case()], folder=tmp_path)
    assert again[0] is not None
    assert np.array_equal(again[0].gap, run.gap)


def test_a_case_that_fails_is_a_none_that_is_kept_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def snapping(case: LayingCase, **_: object) -> Laid:
        raise LayingFailure("snaps")

    monkeypatch.setattr("springfit.mechanics.laying.keeping.lay", snapping)
    assert lay_many([small_case()], folder=tmp_path) == [None]
    monkeypatch.setattr("springfit.mechanics.laying.keeping.lay", None)
    assert lay_many([small_case()], folder=tmp_path) == [None]


def test_a_result_is_known_by_every_number_and_the_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    case, usual = small_case(), Fineness()
    others = [
        case_key(replace(case, wall=0.51), None, usual),
        case_key(replace(case, drawn_pull=0.1), None, usual),
        case_key(replace(case, curve=replace(BRASS, yield_strength=151.0)), None, usual),
        case_key(case, 24.0, usual),
        case_key(case, None, replace(usual, layers=9)),
    ]
    key = case_key(case, None, usual)
    monkeypatch.setattr("springfit.mechanics.laying.keeping.engine_version", lambda: "another")
    others.append(case_key(case, None, usual))
    assert len({key, *others}) == 7


def test_a_pull_left_in_the_drawn_part_is_reported_and_shortens_it() -> None:
    """k Y along the meridian of a tube drawn over half its length: N_s = k Y t there; its end comes back k Y L/E."""
    s = np.linspace(0.0, 60.0, 121)
    tube = LayingCase(
        s, s, np.full_like(s, 8.0), np.zeros_like(s), np.zeros_like(s), 0.5, BRASS, 8.0, 30.0, drawn_pull=0.4
    )
    pulled = lay(tube)
    drawn, spun = pulled.s < 27.0, pulled.s > 33.0
    assert np.allclose(pulled.n_s[drawn], 0.4 * 150.0 * 0.5, rtol=1.0e-2)
    assert np.allclose(pulled.n_theta[drawn], 0.0, atol=0.3)
    assert np.allclose(pulled.n_s[spun], 0.0, atol=0.3)
    assert pulled.axial[-1] == pytest.approx(-0.4 * 150.0 / BRASS.youngs_modulus * 30.0, rel=0.05)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("wall", -0.5),
        ("nose_radius", float("nan")),
        ("spin_start", 31.0),
        ("s", np.zeros(121)),
        ("stand_off", np.full(121, np.nan)),
        ("r", np.full(121, -1.0)),
    ],
)
def test_impossible_cases_name_what_is_wrong(field: str, value: object) -> None:
    with pytest.raises(ValueError, match=field if field != "r" else "radii"):
        replace(small_case(), **{field: value})


def test_a_cut_off_the_sheet_is_refused() -> None:
    with pytest.raises(ValueError, match="trim_at"):
        lay(small_case(), trim_at=40.0)


def test_steps_are_longer_in_the_tail_and_halve_when_asked() -> None:
    s = np.linspace(0.0, 120.0, 481)
    off = bubble(s, height=1.0, start=80.0, end=130.0)
    bell = LayingCase(s, 0.98 * s, 8.0 + 0.2 * s, np.full_like(s, 0.2), off, 0.5, BRASS, 8.0, 80.0)
    usual, fine = node_arcs(bell, 110.0, Fineness()), node_arcs(bell, 110.0, Fineness(element_walls=1.25))
    assert np.any(np.isclose(usual, 110.0, atol=1.0e-9))
    assert len(fine) == pytest.approx(2 * len(usual), rel=0.05)
    assert np.diff(usual)[0] > 2.0 * np.diff(usual)[-1]
    arcs = np.array([nose.at for nose in nose_path(bell, Fineness())])
    assert arcs[-1] == pytest.approx(120.0)
    assert np.max(np.diff(arcs)) < 0.21


def test_bubble_is_fullest_where_its_skew_puts_it_and_refuses_nonsense() -> None:
    s = np.linspace(0.0, 100.0, 1001)
    assert s[np.argmax(bubble(s, height=2.0, start=20.0, end=80.0))] == pytest.approx(50.0)
    assert s[np.argmax(bubble(s, height=2.0, start=20.0, end=80.0, skew=2.0))] == pytest.approx(62.4, abs=0.1)
    with pytest.raises(ValueError, match="end"):
        bubble(s, height=1.0, start=50.0, end=40.0)
