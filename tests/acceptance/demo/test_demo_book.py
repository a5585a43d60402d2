"""The committed demo shop: the same bytes again, readable, with what was planted, of believable sizes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.demo.generate import generate
from springfit.geometry.meridian import meridian_from_stations
from springfit.geometry.seating import nearest_point
from springfit.records import Book, read_book, read_conditions, read_profile
from tests.helpers.repository import DATASETS

TEN_MICRONS = 0.010
SHOP, TRUTH = DATASETS / "demo-shop", DATASETS / "demo-shop-truth"


@pytest.fixture(scope="module")
def read() -> tuple[Book, tuple]:
    return read_book(SHOP)


@pytest.fixture(scope="module")
def asked() -> pd.DataFrame:
    queries = pd.read_csv(TRUTH / "queries.csv")
    conditions = pd.concat(pd.read_csv(TRUTH / f"conditions_{name}.csv") for name in queries["name"].unique())
    return queries.merge(conditions, on="name")


def test_generating_again_gives_the_same_bytes(tmp_path: Path) -> None:
    generate(tmp_path)
    made = sorted(p.relative_to(tmp_path) for p in tmp_path.rglob("*") if p.is_file())
    kept = sorted(p.relative_to(DATASETS) for p in DATASETS.rglob("*") if p.suffix in (".csv", ".json"))
    assert made == kept
    changed = [str(p) for p in made if (tmp_path / p).read_bytes() != (DATASETS / p).read_bytes()]
    assert not changed, f"run python -m springfit.demo.generate and look at what changed: {changed}"


def test_the_shop_is_as_large_as_it_says(read: tuple[Book, tuple]) -> None:
    book, _ = read
    assert book.units == "in"
    assert book.mandrels["mandrel_id"].nunique() >= 5
    assert len(book.batches) >= 25
    assert len(book.bells) >= 150
    assert book.batches["spinner"].nunique() == 2
    years = book.batches["spun_on"].dt.year
    assert years.nunique() == 3
    assert (book.mandrels.groupby("mandrel_id").size() > 1).sum() >= 2
    assert len(book.targets) >= 5
    optional = book.batches[["temper", "lot", "hump", "tool_nose_mm", "spindle_rpm", "lubricant"]]
    assert 0.01 < optional.isna().to_numpy().mean() < 0.15


def test_one_session_is_kept_in_mm(read: tuple[Book, tuple]) -> None:
    book, _ = read
    traced = book.measurements[book.measurements["source_file"] == "measurements-trace-june.csv"]
    assert len(traced) > 500
    assert set(traced["gauge_id"]) == {"STYLUS"}
    assert "value_mm" in (SHOP / "measurements-trace-june.csv").read_text().splitlines()[0]
    assert "value_in" in (SHOP / "measurements.csv").read_text().splitlines()[0]


def test_every_kind_datum_and_stage_of_reading_is_there(read: tuple[Book, tuple]) -> None:
    readings = read[0].measurements
    assert set(readings["kind"]) == {
        "outside_diameter",
        "inside_diameter",
        "axial_at_diameter",
        "clearance",
        "wall",
    }
    assert set(readings["datum"]) == {"witness", "tail", "rim", "free"}
    assert {"spun", "trimmed"} <= set(readings["stage"])


def test_only_what_was_planted_is_set_aside(read: tuple[Book, tuple]) -> None:
    _, findings = read
    planted = pd.read_csv(TRUTH / "bells.csv").set_index("planted")["bell_id"]
    named = {planted["halved"], planted[planted.index.str.startswith("mislabelled")].iloc[0]}
    assert {finding.subject for finding in findings if finding.sets_aside} == named


def test_scrap_was_never_measured(read: tuple[Book, tuple]) -> None:
    book, _ = read
    scrap = set(book.bells.loc[book.bells["verdict"] == "scrap", "bell_id"])
    assert len(scrap) >= 3
    assert not scrap & set(book.measurements["bell_id"])


def test_a_flare_of_common_size_springs_as_the_trade_says(asked: pd.DataFrame) -> None:
    """Rims of 115 to 130 mm, forward passes: largest gap 0.13 to 0.81 mm, growing, no dip over 0.03 mm."""
    checked = 0
    usual = asked[(asked["back_passes"] == 0) & asked["finished_rim_mm"].between(115, 130)]
    for _, bell in usual.groupby("name"):
        gap = bell["gap"].to_numpy()
        assert 0.13 < gap.max() < 0.81
        assert (np.maximum.accumulate(gap) - gap).max() < 0.03
        checked += 1
    assert checked >= 4


def test_the_drawn_tail_hardly_springs(asked: pd.DataFrame) -> None:
    for _, bell in asked[asked["back_passes"] == 0].groupby("name"):
        drawn = bell["z"] < bell["draw_end_mm"] - 20.0
        assert bell.loc[drawn, "gap"].abs().max() < 0.03
        assert bell.loc[drawn, "gap"].abs().max() < 0.15 * bell["gap"].max()


def test_the_asked_points_lie_on_the_asked_steel(asked: pd.DataFrame) -> None:
    for name, bell in asked.groupby("name"):
        z, diameter = read_profile(TRUTH / f"profile_{name}.csv")
        steel = meridian_from_stations(z, diameter, diameter_error=0.0)
        _, off = nearest_point(steel, bell["z"].to_numpy(), bell["r"].to_numpy())
        assert np.nanmax(np.abs(off)) < TEN_MICRONS
        assert np.isfinite(off).mean() > 0.99
        assert np.abs(np.hypot(bell["z"].diff(), bell["r"].diff()) / bell["s"].diff() - 1.0).max() < 0.01


def test_the_draft_can_be_asked_about() -> None:
    z, diameter = read_profile(DATASETS / "draft_mandrel.csv")
    conditions = read_conditions(DATASETS / "draft_conditions.csv")
    assert len(conditions) == 3
    assert all(
        c.finished_rim_mm is not None and diameter[0] < c.finished_rim_mm < diameter[-1] for c in conditions
    )
    assert np.all(np.diff(z) > 0)
