"""Readings of every kind and datum, taken off a bell whose gap is known, come back as that gap.

The bell is the mandrel's own curve moved out along the normal; each reading is made here from plane geometry alone
(points of an offset curve, a ball's centre), so the two directions share nothing but the curve.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from springfit.learning.data.kinds_to_gaps import FEELER_STEP_MM
from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.learning.data.observations import BellReadings, bell_readings
from springfit.records.reading import read_book
from springfit.records.telling.book_counts import book_counts
from tests.helpers.books.small_book import OAK, STATIONS, diameter

GAP, WALL, BALL, RIM = 0.14, 0.5, 0.8, 100.0
TWO_MICRONS = 0.002  # what the smoothing of the steel and rounding leave
ARCS = np.array([120.0, 250.0, 330.0, 370.0, 390.0, 400.0])
WITNESS_Z = 380.0

SHEETS = {
    "mandrels": "mandrel_id,revision,in_force_from\nOAK,0,2025-01-01\n",
    "batches": "batch_id,spun_on,mandrel_id,alloy,wall_mm,passes,blank_rim_mm,finished_rim_mm\n"
    f"B1,2025-03-01,OAK,C26000,{WALL},2,112,{RIM}\n",
    "bells": f"bell_id,batch_id,witness_z_mm\nB1-1,B1,{WITNESS_Z}\n",
    "gauges": "gauge_id,what,repeatability_mm,station_mm,ball_radius_mm\n"
    f"MIC,micrometer,0.006,0.1,\nFEEL,feeler,0.02,0.25,\nTRACE,stylus,0.01,0.03,{BALL}\nRING,ring,0.003,0.05,\n"
    "BALL,ball micrometer,0.004,1,\n",
}
HEADER = "bell_id,stage,kind,datum,z_mm,value_mm,angle_deg,gauge_id"


@pytest.fixture(scope="module")
def steel() -> Meridian:
    """The curve that the readings are made on, dense and exact."""
    z = np.linspace(0.0, 400.0, 401)
    return meridian_from_stations(z, [diameter(OAK, float(one)) for one in z], diameter_error=0.0)


def read(folder: Path, rows: list[str]) -> tuple[BellReadings, ...]:
    """The bells of a book with these measurement rows."""
    profile = "mandrel_id,revision,z_mm,diameter_mm\n"
    stations = sorted({*STATIONS, *np.arange(200.0, 401.0, 4.0)})
    profile += "".join(f"OAK,0,{z:g},{diameter(OAK, z):.5f}\n" for z in stations)
    measured = "\n".join([HEADER, *rows]) + "\n"
    for name, text in {**SHEETS, "mandrel_profile": profile, "measurements": measured}.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    book, _ = read_book(folder)
    return bell_readings(book, lambda mandrel, revision: steel_meridian(book, mandrel, revision))


def rows_of(
    steel: Meridian,
    kind: str,
    datum: str,
    gauge: str,
    *,
    stands: float,
    ball: float = 0.0,
    shift: float = 0.0,
) -> list[str]:
    """Rows of readings at ARCS of the surface `stands` mm out, by a ball touching it where there is one."""
    curve = offset(steel, stands + ball)
    points = curve.at(np.interp(ARCS, steel.s, curve.s))
    place = points.z + shift
    if datum == "rim":
        rim = float(np.interp(RIM / 2, steel.r, steel.z))
        place = rim - points.z
    return [
        f"B1-1,trimmed,{kind},{datum},{z:.5f},{2 * (r - ball):.5f},,{gauge}"
        for z, r in zip(place, points.r, strict=True)
    ]


@pytest.mark.parametrize("datum", ["tail", "witness", "rim"])
@pytest.mark.parametrize(
    ("kind", "gauge", "stands", "ball"),
    [
        ("outside_diameter", "MIC", GAP + WALL, 0.0),
        ("inside_diameter", "MIC", GAP, 0.0),
        ("axial_at_diameter", "RING", GAP + WALL, 0.0),
        ("outside_diameter", "TRACE", GAP + WALL, BALL),
    ],
)
def test_each_kind_and_datum_gives_the_gap_back(
    steel: Meridian, tmp_path: Path, kind: str, gauge: str, stands: float, ball: float, datum: str
) -> None:
    (bell,) = read(tmp_path, rows_of(steel, kind, datum, gauge, stands=stands, ball=ball))
    assert np.abs(bell.gap - GAP).max() < TWO_MICRONS
    assert np.abs(np.sort(bell.arc) - ARCS).max() < 0.1
    assert set(bell.through_wall) == {0.0 if kind == "inside_diameter" else 1.0}
    (session,) = bell.sessions
    expected = {"tail": np.nan, "witness": WITNESS_Z, "rim": float(np.interp(RIM / 2, steel.r, steel.z))}[
        datum
    ]
    anchored = np.interp(expected, steel.z, steel.s) if np.isfinite(expected) else np.nan
    assert session.anchor_arc == pytest.approx(anchored, abs=0.1, nan_ok=True)


def test_a_scan_without_a_reference_finds_its_place(steel: Meridian, tmp_path: Path) -> None:
    rows = rows_of(steel, "outside_diameter", "free", "TRACE", stands=WALL, ball=BALL, shift=7.3)
    (bell,) = read(tmp_path, rows)
    assert np.abs(bell.gap).max() < 5 * TWO_MICRONS


def test_the_wall_is_taken_along_the_normal(steel: Meridian, tmp_path: Path) -> None:
    """At constant z the wall of a steep flare is thicker by 1/cos(slope): taken there, the gap would be far off."""
    (bell,) = read(tmp_path, rows_of(steel, "outside_diameter", "tail", "MIC", stands=GAP + WALL))
    steepest = float(bell.slope.max())
    assert WALL / np.cos(steepest) - WALL > 0.15
    assert abs(float(bell.gap[np.argmax(bell.slope)]) - GAP) < TWO_MICRONS


def test_a_leaf_stands_for_the_middle_of_its_step_and_none_for_no_number(tmp_path: Path) -> None:
    leaves = [("340", 3 * FEELER_STEP_MM), ("370", 0.0), ("390", 5 * FEELER_STEP_MM)]
    rows = [f"B1-1,trimmed,clearance,tail,{z},{leaf:.4f},,FEEL" for z, leaf in leaves]
    (bell,) = read(tmp_path, rows)
    assert bell.gap == pytest.approx([3.5 * FEELER_STEP_MM, 5.5 * FEELER_STEP_MM])
    assert np.all(bell.through_wall == 0.0)
    assert bell.sessions[0].datum == "free"  # felt bells are those that stand off: their seats say nothing


def test_two_diameters_at_a_station_are_one_row_and_share_the_placing_error(tmp_path: Path) -> None:
    one = [f"B1-1,trimmed,outside_diameter,tail,390,{diameter(OAK, 390) + 1.4:.4f},0,MIC"]
    two = [*one, one[0].replace(",0,MIC", ",90,MIC")]
    (single,), (double,) = read(tmp_path, one), read(tmp_path, two)
    assert len(double.gap) == 1 and double.readings == 2
    placing = (0.1 * np.sin(double.slope[0])) ** 2
    assert double.variance[0] - placing == pytest.approx((single.variance[0] - placing) / 2, rel=1e-6)


def test_a_wall_reading_is_of_the_wall_and_of_no_place(tmp_path: Path) -> None:
    rows = [
        "B1-1,trimmed,wall,tail,380,0.512,,BALL",
        f"B1-1,trimmed,outside_diameter,tail,390,{diameter(OAK, 390) + 1.4:.4f},,MIC",
    ]
    (bell,) = read(tmp_path, rows)
    wall = bell.springs == 0.0
    assert bell.gap[wall] == pytest.approx([0.012])
    assert len(bell.sessions) == 1


def test_more_sessions_than_a_bell_can_have_are_left_out_whole(tmp_path: Path) -> None:
    size = f"{diameter(OAK, 390) + 1.4:.4f}"
    settings = [(stage, datum) for stage in ("spun", "trimmed") for datum in ("tail", "witness")]
    (bell,) = read(
        tmp_path, [f"B1-1,{stage},outside_diameter,{datum},390,{size},,MIC" for stage, datum in settings]
    )
    kept = bell.first_sessions(3)
    assert len(bell.sessions) == 4 and kept.sessions == bell.sessions[:3]
    assert set(kept.session) == {0, 1, 2} and len(kept.gap) == 3


def test_a_wall_that_is_not_stated_is_the_one_that_was_read(
    steel: Meridian, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(SHEETS, "batches", SHEETS["batches"].replace(f",{WALL},", ",,"))
    walls = [f"B1-1,trimmed,wall,tail,{z},{WALL + more:g},,BALL" for z, more in ((340, -0.01), (350, 0), (360, 0.02))]
    (bell,) = read(tmp_path, [*rows_of(steel, "outside_diameter", "tail", "MIC", stands=GAP + WALL), *walls])
    assert bell.wall == pytest.approx(WALL)
    assert np.abs(bell.gap[bell.springs > 0] - GAP).max() < TWO_MICRONS


def test_a_bell_of_no_known_wall_says_what_needs_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(SHEETS, "batches", SHEETS["batches"].replace(f",{WALL},", ",,"))
    leaf, outside = "B1-1,trimmed,clearance,tail,370,0.1,,FEEL", "B1-1,trimmed,outside_diameter,tail,370,64,,MIC"
    (bell,) = read(tmp_path, [leaf, outside])
    assert bell.readings == 1 and bell.through_wall.tolist() == [0.0]
    assert np.isfinite(bell.wall)
    book, findings = read_book(tmp_path)
    assert book_counts(book, findings).unlearned == (
        "the outside of 1 bell (B1-1): no wall of theirs is written down or read",
    )
