"""The invented worlds: what their hands write down is where the bell is, and books are read as written."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.records.reading import read_book
from tests.worlds.hands import Gauge, Hands
from tests.worlds.kinds.laid_world import LaidWorld
from tests.worlds.kinds.shares_world import SharesWorld
from tests.worlds.kinds.world import Departure, lasting
from tests.worlds.make import drawn_shop, main
from tests.worlds.mandrel_lines import bessel
from tests.worlds.mandrels import Mandrel, drawn_mandrels
from tests.worlds.recipes import Recipe, drawn_recipe
from tests.worlds.ridge.ridge_fields import released_fields
from tests.worlds.ridge.ridge_rows import read_batches, read_table
from tests.worlds.sprung_bell import OwnBell, SprungBell, released
from tests.worlds.workshop import Workshop

EXACT = {"repeatability_mm": 1.0e-9, "station_mm": 1.0e-9}


@pytest.fixture(scope="module")
def spun() -> tuple[Mandrel, Recipe, SprungBell]:
    """A bell of a world of shares, without thinning or any fault."""
    rng = np.random.default_rng(5)
    world, mandrel = SharesWorld.drawn(rng), drawn_mandrels(rng, 1)[0]
    recipe = drawn_recipe(rng, mandrel, spinners=("P1",))
    back = world.springback(mandrel.line, recipe, Departure(), trimmed=True)
    nothing = np.zeros_like(back.s)
    bell = released(mandrel.line, back, OwnBell(), wall=recipe.wall_mm, thinning=0.0, swollen=nothing)
    return mandrel, recipe, bell


def _distance(z: np.ndarray, r: np.ndarray, line_z: np.ndarray, line_r: np.ndarray) -> np.ndarray:
    """Distance of points (n,) from a line of straight pieces."""
    dz, dr = np.diff(line_z), np.diff(line_r)
    along = ((z[:, None] - line_z[:-1]) * dz + (r[:, None] - line_r[:-1]) * dr) / (dz**2 + dr**2)
    along = np.clip(along, 0.0, 1.0)
    return np.hypot(z[:, None] - line_z[:-1] - along * dz, r[:, None] - line_r[:-1] - along * dr).min(axis=1)


def test_a_bessel_horn_goes_through_its_radii_and_its_arc_is_the_sum_of_its_chords() -> None:
    line = bessel(tail=6.0, rim=60.0, length=400.0, exponent=0.7)
    assert line.r[[0, -1]] == pytest.approx([6.0, 60.0], abs=1e-6)
    assert line.s[-1] == pytest.approx(np.hypot(np.diff(line.z), np.diff(line.r)).sum(), abs=1e-3)
    assert np.allclose(np.gradient(line.r, line.s)[5:-5], np.sin(line.slope)[5:-5], atol=1e-4)


@pytest.mark.parametrize("ball", [0.0, 0.8])
@pytest.mark.parametrize("datum", ["witness", "rim", "tail"])
def test_exact_hands_write_down_where_the_bell_is(
    spun: tuple[Mandrel, Recipe, SprungBell], datum: str, ball: float
) -> None:
    """Read back as the record book defines them: the outside surface, less the wall, at z of the datum."""
    _, recipe, bell = spun
    hands = Hands(np.random.default_rng(1), 0.0, 0.0, 1e-6)
    witness = 0.8 * recipe.draw_end_mm
    setting, gauge = hands.setting(bell, datum, witness), Gauge("G", "", **EXACT, ball_radius_mm=ball)
    stations = hands.stations(bell, setting, np.linspace(0.4, 0.98, 12) * bell.s[-1])
    rows = pd.DataFrame(hands.outside(bell, setting, stations, gauge, [0.0]))
    moved = {"witness": np.interp(witness, bell.steel_z, bell.axial), "rim": bell.axial[-1], "tail": setting.seat}
    z, r = rows["z_mm"].to_numpy(), rows["value_mm"].to_numpy() / 2.0 + ball
    if datum == "rim":
        z = bell.steel_z[-1] - z
    z = z - moved[datum] if datum == "tail" else z + moved[datum]
    # Every point read lies one wall and one ball out from the inside of the bell.
    off = _distance(z, r, bell.z, bell.r)
    assert off == pytest.approx(np.full(len(off), recipe.wall_mm + ball), abs=1e-3)


def test_the_gap_is_the_distance_of_the_inside_from_the_steel(spun: tuple[Mandrel, Recipe, SprungBell]) -> None:
    mandrel, _, bell = spun
    few = slice(400, -40, 60)
    line = mandrel.line.part(0.0, float(bell.s[-1]))
    off = _distance(line.z[few], line.r[few], bell.z, bell.r)
    assert np.abs(bell.gap[few]) == pytest.approx(off, abs=2e-3)
    assert np.max(np.abs(bell.gap)) > 0.02


def test_a_uniform_hoop_share_shrinks_or_swells_every_hoop_by_its_strain() -> None:
    """Let go, a hoop under uniform stress -S moves out by r S/E, far from the ends and on a slender bell."""
    line = bessel(tail=20.0, rim=21.0, length=300.0, exponent=0.7)
    conditions = {"wall_mm": 0.5, "blank_rim_mm": 42.0, "finished_rim_mm": 42.0, "draw_end_mm": 0.01}
    gap = released_fields(line, conditions, stage="trimmed").gap(np.array([150.0]))
    assert gap[0, 0] == pytest.approx(np.interp(150.0, line.s, line.r) * 150.0 / 110.0e3, rel=0.03)


def test_what_lasts_is_the_mean_of_many_batches(spun: tuple[Mandrel, Recipe, SprungBell]) -> None:
    mandrel, recipe, _ = spun
    rng = np.random.default_rng(5)
    world = SharesWorld.drawn(rng)
    many = [
        world.springback(mandrel.line, recipe, world.departure(rng, "P1"), trimmed=True).normal for _ in range(300)
    ]
    mean, spread = np.mean(many, axis=0), np.std(many, axis=0).max()
    assert np.abs(lasting(world, mandrel.line, recipe).normal - mean).max() < 4.0 * spread / np.sqrt(300)


def test_stand_offs_that_stand_for_all_lie_as_those_of_many_batches(tmp_path: Path) -> None:
    rng = np.random.default_rng(6)
    world = LaidWorld.drawn(rng, batches_differ="shape", spinners=("P1",), cache=tmp_path)
    columns = {
        "height": np.log, "skew": np.log, "scale": np.log, "start": np.asarray, "end": np.asarray, "open": np.asarray
    }  # fmt: skip
    few, many = (
        {name: read(np.array([getattr(one, name) for one in batches], dtype=float)) for name, read in columns.items()}
        for batches in (world.usual("P1"), [world.departure(rng, "P1") for _ in range(4000)])
    )
    for name in columns:
        assert few[name].mean() == pytest.approx(many[name].mean(), abs=0.15 * many[name].std()), name
        assert few[name].std() == pytest.approx(many[name].std(), rel=0.2), name


def test_a_book_of_shares_is_written_in_its_own_units_and_read_again(tmp_path: Path) -> None:
    main(["shares", "3", str(tmp_path / "shop")])
    book, queries = tmp_path / "shop", pd.read_csv(tmp_path / "shop" / "truth" / "queries.csv")
    shop, tables, _ = drawn_shop("shares", 3, tmp_path)
    unit = "in" if shop.inch else "mm"
    assert f"wall_{unit}" in pd.read_csv(book / "batches.csv").columns
    walls = read_table(book / "batches.csv")["wall_mm"]
    assert walls.to_numpy() == pytest.approx(tables["batches"]["wall_mm"].to_numpy(float), abs=2e-4)
    assert set(queries.groupby("name")["seen"].first()) == {True, False}
    for batch in read_batches(book):
        assert np.nanmax(np.abs(batch.rows["gap"])) < 3.0


def test_a_true_need_cut_leaves_what_the_lathe_leaves(tmp_path: Path) -> None:
    """Steel too large by an even amount makes a bell too large by as much; turned off, the bell is what was asked."""
    workshop = Workshop("shares", 5, tmp_path, most=3)
    flare = next(one for one in workshop.flares if one.too_large > 0.0)
    arcs = np.linspace(5.0, flare.target.s[-1] - 1.0, 300)
    error = workshop.error(flare, arcs)
    assert error == pytest.approx(flare.too_large, abs=0.2 * flare.too_large)
    z, slope = (np.interp(arcs, flare.target.s, column) for column in (flare.target.z, flare.target.slope))
    batches = len(workshop.tables["batches"])
    workshop.cut(flare, z, error / np.cos(slope))
    assert np.abs(workshop.error(flare, arcs)).max() < 0.02
    assert len(workshop.tables["batches"]) == batches + 1
    workshop.write(tmp_path / "book")
    book, _ = read_book(tmp_path / "book")
    assert book.batches["revision"].iloc[-1] == flare.revision
