"""Forecasts against a shop whose truth is known, over the flare (the last 40 % of the arc)."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.forecast import Forecast, forecast
from springfit.learning.data.mandrel_steel import draft_meridian
from springfit.learning.experience import experience_of
from springfit.learning.fitting import fit_model, physics_model
from springfit.learning.model import SpringModel
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import Training, train
from springfit.records.conditions import read_conditions, read_profile
from springfit.records.reading import read_book

BETTER_THAN_ANY = 1.2  # times, than the best plain rule, on mandrels left out whole
BETTER_ON_NEW_MANDRELS = 1.5  # the same when free fields stood alone
LARGEST_RMS_MM = 0.024
WIDEST_BATCH_BAND_MM = 0.16
LEAST_COVER = 0.80
FEW = 3  # every third of the shop's queries; each is laid anew, so all of them are asked by hand
ALL = pytest.param(1, marks=pytest.mark.benchmark)


@dataclass(frozen=True)
class Figures:
    """Root mean square errors on mandrels of the book and on new ones [mm], covers, and the batch band's width [mm]."""

    seen: float
    new: float
    none: float
    cover_batch: float
    cover_bell: float
    width: float
    trust: set[str]


def sample_shop() -> Path:
    """The sample shop's folder; skips where it is not at hand."""
    beside = Path(__file__).resolve().parents[3] / "shared"
    shop = Path(os.environ.get("SPRINGFIT_SHARED", beside)) / "sample-shop"
    if not shop.is_dir():
        pytest.skip("the sample shops are not here; SPRINGFIT_SHARED may name their folder")
    return shop


def book_of_first(batches: int, source: Path, folder: Path) -> Path:
    """A copy of the shop's book with only its first batches."""
    folder.mkdir()
    kept = pd.read_csv(source / "batches.csv", dtype=str).iloc[:batches]
    bells = pd.read_csv(source / "bells.csv", dtype=str)
    bells = bells[bells["batch_id"].isin(kept["batch_id"])]
    measured = pd.read_csv(source / "measurements.csv", dtype=str)
    measured = measured[measured["bell_id"].isin(bells["bell_id"])]
    for name, frame in (("batches", kept), ("bells", bells), ("measurements", measured)):
        frame.to_csv(folder / f"{name}.csv", index=False)
    for name in ("mandrels", "mandrel_profile", "gauges", "targets", "target_profile"):
        shutil.copyfile(source / f"{name}.csv", folder / f"{name}.csv")
    return folder


def asked(model: SpringModel, truth: Path, name: str) -> Forecast:
    mandrel = draft_meridian(*read_profile(truth / f"profile_{name}.csv"))
    return forecast(model, mandrel, read_conditions(truth / f"conditions_{name}.csv")[0])


def figures(model: SpringModel, shop: Path, every: int = FEW) -> Figures:
    """What `model` misses of every so many-th of the shop's queries."""
    truth, rows, words = shop / "truth", [], set()
    for name, query in list(pd.read_csv(truth / "queries.csv").groupby("name"))[::every]:
        told = asked(model, truth, str(name))
        back = read_conditions(truth / f"conditions_{name}.csv")[0].back_passes
        flare = query["s"].to_numpy() > 0.6 * query["s"].max()
        place = query["s"].to_numpy()[flare]
        gap, one, bell = (query[column].to_numpy()[flare] for column in ("gap", "gap_batch", "gap_bell"))
        bands = [np.interp(place, told.meridian.s, edge) for edge in (*told.mean_band(), *told.bell_band())]
        error = np.interp(place, told.meridian.s, told.gap) - gap
        inside = (
            np.mean((one >= bands[0]) & (one <= bands[1])),
            np.mean((bell >= bands[2]) & (bell <= bands[3])),
        )
        square = np.mean(error**2), np.mean(gap**2)
        rows.append((bool(query["seen"].iloc[0]), bool(back), *square, *inside, np.mean(bands[1] - bands[0])))
        words |= set(told.trust)
    table = pd.DataFrame(rows, columns=["seen", "back", "square", "none", "batch", "bell", "width"])
    plain = table[~table["back"]]
    rms = plain.groupby("seen")["square"].mean() ** 0.5
    return Figures(
        rms[True], rms[False], float(plain["none"].mean() ** 0.5),
        table["batch"].mean(), table["bell"].mean(), table["width"].mean(), words,
    )  # fmt: skip


@pytest.fixture(scope="module")
def trained(tmp_path_factory: pytest.TempPathFactory) -> tuple[Training, SpringModel]:
    """The whole sample shop trained and validated, and the model then in use."""
    folder = tmp_path_factory.mktemp("whole")
    book, findings = read_book(book_of_first(100, sample_shop(), folder / "book"))
    store = ModelStore(folder / "store")
    return train(book, findings, store), store.load()


@pytest.mark.parametrize("every", [FEW, ALL])
def test_new_bells_are_forecast_on_known_and_new_mandrels(
    every: int, shared: Path, trained: tuple[Training, SpringModel]
) -> None:
    done, model = trained
    told = figures(model, shared / "sample-shop", every)
    assert done.in_use
    assert told.seen <= LARGEST_RMS_MM and told.new <= LARGEST_RMS_MM
    assert told.seen < 0.5 * told.none and told.new < 0.5 * told.none
    assert min(told.cover_batch, told.cover_bell) >= LEAST_COVER
    assert told.width <= WIDEST_BATCH_BAND_MM
    ours, *plain = done.validation.batches
    assert all(ours.rms_mm < other.rms_mm for other in plain)
    ours, *plain = done.validation.mandrels
    assert all(BETTER_THAN_ANY * ours.rms_mm <= other.rms_mm for other in plain)


@pytest.mark.xfail(strict=True, reason="1.3 times: the free fields alone did better here, the mixture is for any shop")
def test_left_out_mandrels_are_forecast_half_as_well_again(trained: tuple[Training, SpringModel]) -> None:
    ours, *plain = trained[0].validation.mandrels
    assert all(BETTER_ON_NEW_MANDRELS * ours.rms_mm <= other.rms_mm for other in plain)


@pytest.mark.parametrize("every", [FEW, ALL])
def test_four_batches_are_enough_for_honest_bands(every: int, shared: Path, tmp_path: Path) -> None:
    shop = shared / "sample-shop"
    book, findings = read_book(book_of_first(4, shop, tmp_path / "book"))
    fit = fit_model(experience_of(book, findings))
    assert fit is not None
    told = figures(fit.model(), shop, every)
    assert min(told.cover_batch, told.cover_bell) >= LEAST_COVER
    assert "stretched" in told.trust


def test_without_bells_the_band_is_what_physics_allows(shared: Path, tmp_path: Path) -> None:
    shop = shared / "sample-shop"
    book, findings = read_book(book_of_first(0, shop, tmp_path / "book"))
    told = figures(physics_model(experience_of(book, findings)), shop)
    assert told.trust == {"physics_only"}
    assert (told.cover_batch, told.cover_bell) == (1.0, 1.0)


def test_a_new_batch_is_forecast_before_it_is_learned(shared: Path, tmp_path: Path) -> None:
    shop, store = shared / "sample-shop", ModelStore(tmp_path / "store")
    for batches in (3, 4):
        book, findings = read_book(book_of_first(batches, shop, tmp_path / f"book{batches}"))
        done = train(book, findings, store)
    assert store.versions() == ("v0001", "v0002") and done.logged == 1
    log = pd.read_csv(store.folder / "forecast_log.csv")
    assert list(log["version"]) == ["v0001"]
    assert store.in_use() == ("v0002" if done.in_use else "v0001")


def test_a_stored_model_forecasts_as_before_to_the_last_bit(shared: Path, tmp_path: Path) -> None:
    shop, store = shared / "sample-shop", ModelStore(tmp_path / "store")
    book, findings = read_book(book_of_first(5, shop, tmp_path / "book"))
    fit = fit_model(experience_of(book, findings))
    assert fit is not None
    model = fit.model("v0001")
    store.save(model)
    with pytest.raises(OSError):
        store.save(model)  # a version is never written over
    one, other = (asked(which, shop / "truth", "R00") for which in (model, store.load("v0001")))
    for name in ("gap", "mean_sd", "bell_sd"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


@pytest.mark.parametrize(
    "field",
    ["temper", "anneal", "passes", "hump", "tool_nose_mm", "draw_end_mm", "lot", "spinner", "back_passes"],
)
def test_a_blank_never_narrows_a_band(shared: Path, tmp_path: Path, field: str, model: SpringModel) -> None:
    from dataclasses import replace

    truth = shared / "sample-shop" / "truth"
    mandrel = draft_meridian(*read_profile(truth / "profile_R09.csv"))
    known = read_conditions(truth / "conditions_R09.csv")[0]
    full, blank = forecast(model, mandrel, known), forecast(model, mandrel, replace(known, **{field: None}))
    slack = 1e-9
    assert np.mean(blank.mean_sd) >= np.mean(full.mean_sd) - slack
    assert np.mean(blank.bell_sd) >= np.mean(full.bell_sd) - slack


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> SpringModel:
    """The model of the sample shop's first ten batches."""
    book, findings = read_book(book_of_first(10, sample_shop(), tmp_path_factory.mktemp("ten") / "book"))
    fit = fit_model(experience_of(book, findings))
    assert fit is not None
    return fit.model()
