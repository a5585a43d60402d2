"""What the shell refuses, how it meshes, and the shapes it returns."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell.decay import decay_length
from springfit.mechanics.shell.release import ShellOfRevolution
from tests.helpers.shells.shell_under_load import resultants_left, rotation

METAL = {"wall": 0.5, "youngs_modulus": 110e3, "poisson_ratio": 0.33}


def cone(count: int = 21) -> dict[str, np.ndarray]:
    s = np.linspace(0, 40, count)
    return {"s": s, "z": s * np.cos(0.3), "r": 10 + s * np.sin(0.3), "slope": np.full(count, 0.3)}


def changed(name: str, value: object, place: int | None = None) -> dict[str, object]:
    arguments: dict[str, object] = {**cone(), **METAL}
    if place is None:
        arguments[name] = value
    else:
        array = np.array(np.broadcast_to(arguments[name], 21), dtype=float)
        array[place] = value
        arguments[name] = array
    return arguments


@pytest.mark.parametrize(
    ("name", "value", "place", "message"),
    [
        ("s", 1.0, 5, r"s: station 5 at 1\.0 mm follows 8\.0 mm, expected the arc to increase"),
        ("s", 3.0, 1, r"s: stations 0 and 1 are 2 mm apart but 3 mm apart in arc|s: stations 1 and 2"),
        ("wall", -0.5, None, r"wall: station 0 is -0\.5 mm, expected more than 0"),
        ("wall", 0.0, 7, r"wall: station 7 is 0\.0 mm"),
        ("wall", np.full(5, 0.5), None, r"wall: found shape \(5,\), expected \(21,\)"),
        ("poisson_ratio", 0.5, None, r"poisson_ratio: found 0\.5, expected between -1 and 0\.5"),
        ("poisson_ratio", -1.0, None, r"poisson_ratio: found -1\.0"),
        ("youngs_modulus", 0.0, None, r"youngs_modulus: found 0\.0"),
        ("youngs_modulus", np.nan, None, r"youngs_modulus: found nan"),
        ("r", np.nan, 3, r"r: station 3 is nan, expected a finite number"),
        ("slope", np.inf, 3, r"slope: station 3 is inf"),
        (
            "slope",
            np.full(21, -0.3),
            None,
            r"slope: between stations \d+ and \d+ .* expected the angle from the axis",
        ),
        ("tail", "free", None, r"tail: found 'free', expected 'axial' or 'clamped'"),
        ("fineness", 0.0, None, r"fineness: found 0\.0"),
    ],
)
def test_bad_input_is_named(name: str, value: object, place: int | None, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        ShellOfRevolution(**{"tail": "axial", "fineness": 0.4, **changed(name, value, place)})


def test_radius_through_the_axis_is_named() -> None:
    arguments = cone()
    arguments["r"] = arguments["r"] - 12
    with pytest.raises(ValueError, match=r"r: station 0 is -2\.0 mm, expected more than 0"):
        ShellOfRevolution(**arguments, **METAL)


def test_two_nodes_are_too_few() -> None:
    with pytest.raises(ValueError, match="s: found 2 stations, expected at least 3"):
        ShellOfRevolution(**cone(2), **METAL)


def test_bad_fields_are_named() -> None:
    shell = ShellOfRevolution(**cone(), **METAL)
    with pytest.raises(ValueError, match=r"n_theta: found shape \(20,\), expected \(21,\) or \(21, fields\)"):
        shell.release(n_theta=np.zeros(20))
    with pytest.raises(ValueError, match="m_s: found a value that is not finite"):
        shell.release(m_s=np.full(21, np.nan))
    with pytest.raises(ValueError, match="m_s: found 3 fields, expected 1 or 4 as in the others"):
        shell.release(n_s=np.zeros((21, 4)), m_s=np.zeros((21, 3)))


def test_shapes_follow_the_fields() -> None:
    shell = ShellOfRevolution(**cone(), **METAL)
    assert shell.release(n_theta=np.ones(21)).normal.shape == (21,)
    assert shell.release(n_theta=np.ones((21, 1))).normal.shape == (21, 1)
    mixed = shell.release(n_s=np.ones(21), n_theta=np.ones((21, 19)))
    assert mixed.normal.shape == mixed.axial.shape == rotation(mixed).shape == (21, 19)
    assert np.ptp(mixed.radial, axis=1).max() < 1e-15
    assert resultants_left(shell, m_s=np.ones((21, 2))).m_s.shape == (21, 2)


def test_results_cannot_be_written_to() -> None:
    released = ShellOfRevolution(**cone(), **METAL).release(n_theta=np.ones(21))
    for values in (released.normal, released.axial, released.unknowns):
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1.0


def test_mesh_follows_the_decay_length_and_keeps_the_stations() -> None:
    """At 22 mm second radius no element over 0.5 mm is wanted, at a 485 mm one 2 mm will do."""
    s = np.array([0.0, 10, 11, 40])
    line = {"s": s, "z": s * np.cos(0.3), "r": 10 + s * np.sin(0.3), "slope": np.full(4, 0.3)}
    shell = ShellOfRevolution(**line, **METAL, fineness=0.2)
    nodes, radius = shell.mesh.nodes[0], shell.mesh.nodes[2]
    assert nodes[shell.mesh.station_node] == pytest.approx(s)
    decay = decay_length(radius, np.full_like(radius, 0.3), wall=0.5, poisson_ratio=0.33)
    assert (np.diff(nodes) <= 0.2 * decay[1:] + 1e-12).all()
    assert 0.2 * decay_length(22.0, 0.0, wall=0.5, poisson_ratio=0.33) < 0.55
    assert shell.mesh.within(shell.mesh.to_nodes(s), np.array([0.0]))[:, 0] == pytest.approx(nodes[:-1])


def test_inner_surface_is_half_a_wall_inside_the_shell() -> None:
    line = cone()
    shell = ShellOfRevolution.on_inner_surface(**line, **METAL)
    assert shell.stations.r == pytest.approx(line["r"] + 0.25 * np.cos(0.3))
    assert shell.stations.z == pytest.approx(line["z"] - 0.25 * np.sin(0.3))
    assert np.diff(shell.stations.s) == pytest.approx(np.diff(line["s"]))


def test_inner_surface_of_a_circular_flare_shortens_by_its_turn() -> None:
    angle = np.linspace(0, 1.2, 61)
    line = {"s": 80 * angle, "z": 80 * np.sin(angle), "r": 10 + 80 * (1 - np.cos(angle)), "slope": angle}
    shell = ShellOfRevolution.on_inner_surface(**line, **METAL)
    assert shell.stations.s == pytest.approx(79.75 * angle)
    assert shell.stations.r == pytest.approx(90 - 79.75 * np.cos(angle))


def test_a_long_thin_bell_is_within_reach() -> None:
    """600 mm, 5 mm tail, 0.3 mm wall: equal membrane strain must come back as growth to six digits."""
    x = np.linspace(0, 1, 60_001)
    slope = 0.01 + 1.35 * x**6
    z, r = (
        np.concatenate([[0], np.cumsum((f[1:] + f[:-1]) / 2 * 0.01)]) for f in (np.cos(slope), np.sin(slope))
    )
    keep = slice(None, None, 200)
    line = {"s": 600 * x[keep], "z": z[keep], "r": 5 + r[keep], "slope": slope[keep]}
    shell = ShellOfRevolution(**line, **{**METAL, "wall": 0.3})
    force = np.full(301, -10.0)
    moved = shell.release(force, force)
    strain = 10 * (1 - 0.33) / (110e3 * 0.3)
    assert moved.radial == pytest.approx(strain * line["r"], rel=1e-5)
    assert moved.axial[-1] == pytest.approx(strain * line["z"][-1], rel=1e-5)
