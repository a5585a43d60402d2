"""The demo's older book: the family's line with both facets, and the worn mandrel's first line, against the truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.spatial import cKDTree

from springfit.records import Book, read_book
from springfit.survey.family_survey import Survey, survey_family
from springfit.survey.mandrels.copying import Copy, copied
from springfit.survey.mandrels.revisions_measured import revisions_measured
from tests.helpers.repository import DATASETS

RMS_MM, DEPTH_MM, PLACE_MM = 0.015, 0.02, 1.5
END_MM = 8.0  # at the rim, where a bead may be rolled: not judged
PLANTED = {"join": (239.9, 0.084), "dish": (303.0, 0.080)}  # z along the line as it was meant, depth [mm]


@pytest.fixture(scope="module")
def book() -> Book:
    return read_book(DATASETS / "demo-old-shop")[0]


@pytest.fixture(scope="module")
def surveyed(book: Book) -> Survey:
    return survey_family(book, "LINNET")


def _apart(name: str, z: np.ndarray, r: np.ndarray) -> tuple[float, float]:
    """The slide [mm] that lays points on a line of the truth, and the rms normal distance that is left."""
    true = pd.read_csv(DATASETS / "demo-shop-truth" / f"{name}.csv")
    fine = np.linspace(0.0, len(true) - 1.0, 40 * len(true))
    at_z, at_r = (np.interp(fine, np.arange(len(true)), true[one]) for one in ("z_mm", "diameter_mm"))
    at_r = at_r / 2
    slope = np.arctan2(np.gradient(at_r), np.gradient(at_z))
    tree, slide, off = cKDTree(np.column_stack((at_z, at_r))), 0.0, np.zeros_like(z)
    for _ in range(8):
        near = tree.query(np.column_stack((z + slide, r)))[1]
        on = (near > 0) & (near < at_z.size - 1)
        sine, cosine = np.sin(slope[near]), np.cos(slope[near])
        off = (-(z + slide - at_z[near]) * sine + (r - at_r[near]) * cosine)[on]
        slide += float(np.sum(off * sine[on]) / np.sum(sine[on] ** 2))
    return slide, float(np.sqrt(np.mean(off**2)))


def test_the_common_line_and_both_facets_are_given_back(surveyed: Survey) -> None:
    line = surveyed.consensus.line
    points = line.at(np.arange(2.0, line.length - END_MM, 1.0))
    slide, rms = _apart("original_LINNET", points.z, points.r)
    assert rms < RMS_MM
    assert {one.facet.kind for one in surveyed.facets} == set(PLANTED) and len(surveyed.facets) == 2
    for one in surveyed.facets:
        z, depth = PLANTED[one.facet.kind]
        assert one.facet.z + slide == pytest.approx(z, abs=PLACE_MM)
        assert one.facet.depth == pytest.approx(depth, abs=DEPTH_MM)
        assert one.found_in >= 3


def test_the_dent_and_the_patch_are_named(surveyed: Survey) -> None:
    worst = {one.specimen_id: max((gone.amount for gone in one.departures), key=abs, default=0.0)
             for one in surveyed.differences}  # fmt: skip
    assert worst["L2"] < -0.2 and worst["L4"] > 0.1
    assert not surveyed.spread.masked.any()


def test_the_worn_mandrel_is_given_back(book: Book) -> None:
    revisions = revisions_measured(book, "DUNLIN")
    assert [one.bells for one in revisions] == [0, 100, 200, 300, 400]
    copy: Copy = copied(revisions)
    assert copy.first_was_measured
    assert _apart("first_DUNLIN", copy.z[4:-4], copy.diameter[4:-4] / 2)[1] < RMS_MM
    assert copy.levels[-1] == pytest.approx(0.012, abs=0.005)
    assert np.sort(copy.wear)[-5] == pytest.approx(0.04, abs=0.015)
