"""The drawing, read back by the library's reader and by a plain reader of its tags."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Iterator

import ezdxf
import numpy as np
import pytest

from springfit.reporting.figures.drawing import LAYERS, profile_drawing
from tests.helpers.corrections.reporting_example import example_correction

MM_PER_UNIT = {"mm": 1.0, "in": 25.4}
TWO_MICRONS = 0.002


def tags(data: bytes) -> Iterator[tuple[int, str]]:
    """Group codes and values of a text DXF: two lines each."""
    lines = data.decode("utf-8").splitlines()
    assert len(lines) % 2 == 0
    for code, value in zip(lines[::2], lines[1::2], strict=True):
        yield int(code), value.strip()


def polylines(data: bytes) -> dict[str, np.ndarray]:
    """Points of every polyline by layer, from the tags alone."""
    found: dict[str, list[list[float]]] = {}
    entity, layer, points = "", "", []
    for code, value in [*tags(data), (0, "END")]:
        if code == 0:
            if entity == "LWPOLYLINE":
                assert layer not in found
                found[layer] = points
            entity, layer, points = value, "", []
        elif entity == "LWPOLYLINE" and code == 8:
            layer = value
        elif entity == "LWPOLYLINE" and code == 10:
            points.append([float(value)])
        elif entity == "LWPOLYLINE" and code == 20:
            points[-1].append(float(value))
    return {name: np.array(rows) for name, rows in found.items()}


def test_the_bytes_do_not_hang_on_the_hashes_of_a_run():
    code = (
        "import hashlib\nfrom tests.helpers.corrections import reporting_example as made\n"
        "from springfit.reporting.figures.drawing import profile_drawing\n"
        "print(hashlib.sha256(profile_drawing(made.example_correction(), units='in')).hexdigest())"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in ("1", "4")  # of which the library writes its classes in two orders
    }  # fmt: skip
    assert len(told) == 1


@pytest.mark.parametrize("units", ["mm", "in"])
def test_both_readers_see_the_profile_of_the_stations(units: str):
    correction = example_correction()
    data = profile_drawing(correction, units=units)
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert not document.audit().errors
    by_tags = polylines(data)
    for layer, (column, *_) in LAYERS.items():
        (line,) = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
        by_library = np.array(line.get_points("xy"))
        np.testing.assert_allclose(by_tags[layer], by_library, atol=1e-9)
        points = by_library * MM_PER_UNIT[units]
        z, radius = correction.stations["z_mm"], correction.stations[column] / 2.0
        for place, size in zip(z, radius, strict=True):  # every station is a point of the line
            assert np.min(np.hypot(points[:, 0] - place, points[:, 1] - size)) < TWO_MICRONS
        assert np.max(np.hypot(*np.diff(points, axis=0).T)) < 0.26  # fine


@pytest.mark.parametrize(("units", "code", "measurement"), [("in", "1", "0"), ("mm", "4", "1")])
def test_the_header_says_the_unit(units: str, code: str, measurement: str):
    pairs = list(tags(profile_drawing(example_correction(), units=units)))
    for variable, expected in (("$INSUNITS", code), ("$MEASUREMENT", measurement)):
        assert pairs[pairs.index((9, variable)) + 1] == (70, expected)


@pytest.mark.parametrize("slope", [0.02, 1.0])  # a crease of two degrees, a corner of ninety
def test_a_kink_stays_a_kink(slope: float):
    stations = example_correction().stations
    z = stations["z_mm"].to_numpy()
    kinked = stations.assign(diameter_mm=40.0 + 2.0 * slope * np.abs(z - z[100]))
    points = polylines(profile_drawing(example_correction(stations=kinked), units="mm"))["FULL_NEED"]
    assert np.max(np.abs(points[:, 1] - (20.0 + slope * np.abs(points[:, 0] - z[100])))) < TWO_MICRONS


def test_a_smooth_flare_is_drawn_between_its_stations():
    stations = example_correction().stations
    z = stations["z_mm"].to_numpy()
    flare = 5.0 + 60.0 * np.exp((z - z[-1]) / 28.0)
    drawn = profile_drawing(example_correction(stations=stations.assign(diameter_mm=2.0 * flare)), units="mm")
    points = polylines(drawn)["FULL_NEED"]
    slope = 60.0 / 28.0 * np.exp((points[:, 0] - z[-1]) / 28.0)
    off = (points[:, 1] - (5.0 + 28.0 * slope)) / np.hypot(1.0, slope)  # along the normal
    assert np.max(np.abs(off)) < TWO_MICRONS


def test_stations_without_a_size_break_the_line_and_nothing_is_drawn_there():
    stations = example_correction().stations.copy()
    stations.loc[:9, "diameter_mm"] = np.nan
    drawn = polylines(profile_drawing(example_correction(stations=stations), units="mm"))
    assert drawn["FULL_NEED"][0, 0] == pytest.approx(stations["z_mm"][10], abs=1e-4)
    assert drawn["PRESENT"][0, 0] == 0.0
