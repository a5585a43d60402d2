"""The names a notebook finds, that they are light to come by, and frames in and out."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import matplotlib.figure
import numpy as np
import pandas as pd
import pytest

import springfit
from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.findings import BookError, Finding
from springfit.learning.model import SpringModel
from springfit.records.book import Book
from springfit.records.conditions import Conditions

NAMES = [
    "__version__",
    "check_book",
    "correct",
    "describe",
    "fit",
    "forecast",
    "load",
    "plot_correction",
    "plot_forecast",
    "read_book",
    "training_frame",
    "validate",
]
INCH = 25.4
MICRON = 0.001  # mm


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> tuple[Book, tuple[Finding, ...]]:
    folder = tmp_path_factory.mktemp("shop") / "book"
    shop = make_shop(11, batches=4, mandrels=1, bells=3, steady=True, blanks=0.0)  # one laying for all
    write_book(shop.tables, folder, units="mm")
    assert not any(one.grade == "error" for one in springfit.check_book(folder))
    return springfit.read_book(folder)


@pytest.fixture(scope="module")
def model(read: tuple[Book, tuple[Finding, ...]]) -> SpringModel:
    return springfit.fit(*read)


def test_the_public_names_are_these_and_each_is_there() -> None:
    assert springfit.__all__ == NAMES
    for name in NAMES:
        assert getattr(springfit, name).__doc__ or name == "__version__", f"{name} says nothing of itself"
    assert set(NAMES) <= set(dir(springfit))
    with pytest.raises(AttributeError, match="training_frame"):
        springfit.predict  # noqa: B018


@pytest.mark.parametrize("module", ["springfit", "springfit.cli"])
def test_coming_in_loads_nothing_heavy(module: str) -> None:
    code = f"import sys, {module}\nprint(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert module in loaded
    assert not {"numpy", "pandas", "scipy", "sklearn", "matplotlib"} & set(loaded)


def test_a_profile_in_a_frame_or_a_file_in_mm_or_inches_is_the_same_mandrel(
    tmp_path: Path, read: tuple[Book, tuple[Finding, ...]], model: SpringModel
) -> None:
    book, _ = read
    mandrel = str(book.mandrels["mandrel_id"].iloc[0])
    z, diameter = book.profile(mandrel, 0)
    how = {"alloy": "C26000", "wall_mm": 0.5, "back_passes": 0, "temper": None, "draw_end_mm": 254.0}
    in_mm = pd.DataFrame({"z_mm": z, "diameter_mm": diameter})
    in_inches = pd.DataFrame({"z_in": z / INCH, "diameter_in": diameter / INCH})
    in_mm.to_csv(tmp_path / "draft.csv", index=False)
    told = springfit.forecast(model, in_mm, how)
    asked = Conditions("conditions", "C26000", wall_mm=0.5, back_passes=0, draw_end_mm=254.0)
    inches = {**how, "wall_in": 0.5 / INCH, "draw_end_in": 10.0}
    del inches["wall_mm"], inches["draw_end_mm"]
    for other in (
        springfit.forecast(model, in_inches, inches),
        springfit.forecast(model, tmp_path / "draft.csv", asked),
    ):
        assert other.gap == pytest.approx(told.gap, abs=MICRON)


def test_a_frame_of_a_forecast_has_its_gap_inside_its_bands(
    read: tuple[Book, tuple[Finding, ...]], model: SpringModel
) -> None:
    book, _ = read
    z, diameter = book.profile(str(book.mandrels["mandrel_id"].iloc[0]), 0)
    how = {"alloy": "C26000", "wall_mm": 0.5, "draw_end_mm": 254.0}
    told = springfit.forecast(model, pd.DataFrame({"z_mm": z, "diameter_mm": diameter}), how)
    frame = told.to_frame()
    assert np.array_equal(frame["gap_mm"], told.gap) and len(frame) == len(told.trust)
    assert (frame["gap_bell_lo_mm"] <= frame["gap_mean_lo_mm"]).all()
    assert (frame["gap_mean_lo_mm"] < frame["gap_mm"]).all() and (frame["gap_mm"] < frame["gap_mean_hi_mm"]).all()
    axes = springfit.plot_forecast(told, units="in")
    assert axes.get_ylabel().startswith("gap per side [thou]")
    (line,) = (one for one in axes.lines if one.get_label() == "gap")
    assert np.asarray(line.get_ydata()) == pytest.approx(told.gap / 0.0254)


@pytest.mark.parametrize(
    ("profile", "how", "named"),
    [
        ({"z_mm": [0.0], "radius_mm": [1.0]}, {"alloy": "C26000"}, "radius_mm, expected z_mm and diameter_mm"),
        ({"z_mm": [0.0], "diameter_mm": [1.0]}, {"wall_mm": 0.5}, "no alloy"),
        ({"z_mm": [0.0], "diameter_mm": [1.0]}, {"alloy": "C26000", "thickness_mm": 0.5}, "thickness_mm"),
    ],
)
def test_what_is_missing_or_strange_is_named(
    model: SpringModel, profile: dict[str, list[float]], how: dict[str, object], named: str
) -> None:
    frame = pd.DataFrame(profile)
    if "alloy" not in how or "thickness_mm" in how:
        frame = pd.DataFrame({"z_mm": np.linspace(0, 300, 30), "diameter_mm": 16.0 + np.linspace(0, 10, 30) ** 2})
    with pytest.raises(ValueError, match=named):
        springfit.forecast(model, frame, how)


def test_a_correction_is_said_framed_and_drawn_on_given_axes(
    read: tuple[Book, tuple[Finding, ...]], model: SpringModel
) -> None:
    book, _ = read
    done = springfit.correct(model, book, str(book.targets["target_id"].iloc[0]))
    assert springfit.describe(done, units="in").startswith(f"{done.verdict.verdict.upper()}: ")
    assert len(done.to_frame()) == len(done.stations)
    figure = matplotlib.figure.Figure()
    axes = figure.subplots()
    assert springfit.plot_correction(done, ax=axes) is axes
    assert {"forecast", "steel"} <= {line.get_label() for line in axes.lines}  # measured bells first


def test_a_correction_waits_as_the_command_does(
    tmp_path: Path, read: tuple[Book, tuple[Finding, ...]], model: SpringModel
) -> None:
    """No cut by a model that has not learned the book, none by sizes in doubt, no model of another book."""
    book, findings = read
    target = str(book.targets["target_id"].iloc[0])
    other = book.measurements.assign(value_mm=book.measurements["value_mm"] + MICRON)
    stale = springfit.correct(model, replace(book, measurements=other), target)
    assert stale.case.evidence.unlearned.own and not stale.decision.cut_mm.any()
    fresh = springfit.correct(model, book, target, findings=findings)
    assert not fresh.case.evidence.unlearned
    row = book.target_profile.index[book.target_profile["target_id"] == target][12]
    slipped = book.target_profile.copy()
    slipped.loc[row, "diameter_mm"] += 2.54
    with pytest.raises(BookError, match="not borne out"):
        springfit.correct(model, replace(book, target_profile=slipped), target)
    foreign = replace(model, memory=replace(model.memory, digests={"another": "book"}))
    with pytest.raises(BookError, match="another book"):
        springfit.correct(foreign, book, target)


def test_left_out_scores_come_as_a_frame(read: tuple[Book, tuple[Finding, ...]], model: SpringModel) -> None:
    scores = springfit.validate(*read)
    ours = scores[(scores["left_out"] == "batches") & (scores["method"] == "springfit")]
    assert ours["rms_mm"].item() == pytest.approx(model.validation["left_out_batches"]["rms_mm"])
    assert scores["method"].nunique() == 7
