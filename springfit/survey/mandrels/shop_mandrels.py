"""The mandrels of a book as a survey asks them: the bell each is forecast to give, and originals set on them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.learning.model import SpringModel
from springfit.records.book import Book
from springfit.records.rules.usual_gauges import LEAVES
from springfit.survey.mandrels.ranking import Ranked, ranked
from springfit.survey.mandrels.setting_on import Expected, SetOn, set_on

__all__ = ["MandrelAnswers", "OnMandrel", "ask_mandrels"]

FEWEST_LEAVES = 4  # readings of an original on a mandrel: seat, forecast and flare are fitted from them


@dataclass(frozen=True)
class OnMandrel:
    """One original on one mandrel: the stations, leaves and what was expected there (n,) [mm], and the answer; None
    where too few leaves were tried."""

    specimen_id: str
    mandrel_id: str
    revision: int
    z: FloatArray
    leaf: FloatArray
    expected: Expected
    answer: SetOn | None


@dataclass(frozen=True)
class MandrelAnswers:
    """All mandrels ranked for the target, originals that were set on some, and mandrels that could not be asked."""

    ranking: tuple[Ranked, ...]
    on_mandrels: tuple[OnMandrel, ...]
    not_asked: tuple[str, ...]


def ask_mandrels(
    book: Book,
    model: SpringModel,
    target: Meridian,
    family: str,
    *,
    tolerance: float,
    known_to: tuple[FloatArray, FloatArray] | None = None,
) -> MandrelAnswers:
    """Which mandrels would make the target, and what originals of the family set on some of them say.

    known_to: arcs and 1 sd [mm] there of the target itself. Every mandrel is asked as its newest revision, spun as its
    newest batch was; one that no batch was spun on is not.
    """
    bells, not_asked = {}, []
    for name in sorted(map(str, book.mandrels["mandrel_id"].dropna().unique())):
        revisions = book.mandrels.loc[book.mandrels["mandrel_id"] == name, "revision"]
        try:
            steel, arc, gap, _ = _bell(book, model, name, int(revisions.max()))
        except KeyError:
            not_asked.append(name)
            continue
        points = steel.at(arc)
        bells[name] = offset(Meridian(points.s, points.z, points.r, points.slope, points.curvature), gap)
    ranking = ranked(target, bells, tolerance=tolerance, known_to=known_to)
    return MandrelAnswers(ranking, tuple(_set_on(book, model, family, tolerance)), tuple(not_asked))


def _bell(
    book: Book, model: SpringModel, mandrel_id: str, revision: int
) -> tuple[Meridian, FloatArray, FloatArray, FloatArray]:
    """A revision's steel, and along it the gap that bells show with 1 sd of its shape. KeyError without a batch."""
    steel = steel_meridian(book, mandrel_id, revision)
    told = model.gap(steel, book.conditions(book.newest_batch(mandrel_id)))
    return steel, told.arc, told.gap, told.shape_sd


def _set_on(book: Book, model: SpringModel, family: str, tolerance: float) -> Iterator[OnMandrel]:
    names = book.specimens.loc[book.specimens["family"] == family, "specimen_id"]
    points = book.specimen_points
    rows = points[
        points["specimen_id"].isin(names) & (points["kind"] == "clearance") & points["mandrel_id"].notna()
    ]
    repeat = rows.join(book.gauges.set_index("gauge_id")["repeatability_mm"], on="gauge_id")[
        "repeatability_mm"
    ]
    rows = rows.assign(repeat=repeat.fillna(LEAVES.repeatability_mm))
    for (name, mandrel), leaves in rows.groupby(["specimen_id", "mandrel_id"], sort=True):
        told = _one_set_on(book, model, str(name), str(mandrel), leaves, tolerance)
        if told is not None:
            yield told


def _one_set_on(
    book: Book, model: SpringModel, name: str, mandrel: str, leaves: pd.DataFrame, tolerance: float
) -> OnMandrel | None:
    """One original on one mandrel; None on one that no batch was spun on, or where no station lies on its bell."""
    newest = book.mandrels.loc[book.mandrels["mandrel_id"] == mandrel, "revision"].max()
    stated = leaves["revision"].iloc[0]
    revision = int(newest if np.isnan(stated) else stated)
    try:
        steel, arc, gap, shape = _bell(book, model, mandrel, revision)
    except KeyError:
        return None
    z = leaves["z_mm"].to_numpy(float)
    at = np.interp(z, steel.z, steel.s, left=np.nan, right=np.nan)
    on = np.isfinite(at) & (at <= arc[-1])
    if not np.any(on):
        return None
    at, leaf, repeat = at[on], leaves["value_mm"].to_numpy(float)[on], leaves["repeat"].to_numpy(float)[on]
    expected = Expected(np.interp(at, arc, gap), np.interp(at, arc, shape))
    answer = None
    if leaf.size >= FEWEST_LEAVES:
        answer = set_on(steel.at(at).slope, leaf, repeat, expected, tolerance=tolerance)
    return OnMandrel(name, mandrel, revision, z[on], leaf, expected, answer)
