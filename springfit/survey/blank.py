"""The blank for a bell: metal by area and wall, where to trim, what a bead takes; the shop's record beside the rule.

The surface of revolution of a meridian is A = integral 2 pi r ds (Pappus). Metal keeps its volume: a blank of wall t0
that becomes a wall t(s) needs the area integral (t / t0) 2 pi r ds, on the middle of the wall. A disc of that area has
the diameter sqrt(4 A / pi); a seamed blank of the meridian's length, as wide at the tail as the tail is round, has the
other end as wide as the area asks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.learning.basis.spun_sheet import BEAD_ON_DIAMETER_MM
from springfit.records.blank_cells import USUAL_WALL_MM
from springfit.records.book import Book

__all__ = [
    "Blank",
    "ShopRims",
    "Thinning",
    "blank_for",
    "shop_rims",
    "surface_area",
    "thinning_of",
]

SPARE = 3.2  # [mm] on diameter, an eighth: how far short of the mandrel a blank is cut before drawing (common practice)
BINS = 8  # along the bell for the walls that were read; assumed
FEWEST_WALLS = 20  # readings under which nothing is learned of thinning; two or three a bin; assumed
LEAST_SINE = 0.1  # guards against division by nought: a rim that opens by less than 6 degrees counts as that
STEP = 0.5  # [mm] of arc for the integral; assumed fine enough


@dataclass(frozen=True)
class Thinning:
    """Wall over the sheet's at shares (n,) of the bell's length, by how many readings; one everywhere when unknown."""

    share: FloatArray
    ratio: FloatArray
    readings: int


@dataclass(frozen=True)
class ShopRims:
    """What the shop's batches left on the rim: blank less finished diameter [mm], middle and range, by how many."""

    middle: float
    least: float
    most: float
    batches: int


@dataclass(frozen=True)
class Blank:
    """Lengths [mm], and the area [mm^2] of the sheet with its bead and trimming.

    disc: diameter of a round blank; length, tail_width, rim_width: of a seamed one, seam not counted. trim: diameter to
    trim to; uncut: diameter at the blank's rim. wall: of the sheet.
    """

    sheet_area: float
    disc: float
    length: float
    tail_width: float
    rim_width: float
    trim: float
    uncut: float
    wall: float
    thinning: Thinning
    rims: ShopRims | None


def thinning_of(book: Book) -> Thinning:
    """Walls read along bells over the wall of their sheet, by where along the bell they were read."""
    walls = book.measurements[book.measurements["kind"] == "wall"]
    rows = walls.merge(book.bells[["bell_id", "batch_id", "wall_mm"]], on="bell_id")
    rows = rows.merge(
        book.batches[["batch_id", "mandrel_id", "wall_mm"]], on="batch_id", suffixes=("", "_of_sheet")
    )
    ends = book.mandrel_profile.groupby("mandrel_id")["z_mm"].max()
    sheet = rows["wall_mm_of_sheet"].fillna(rows["wall_mm"]).to_numpy(float)
    share = rows["z_mm"].to_numpy(float) / rows["mandrel_id"].map(ends).to_numpy(float)
    ratio = rows["value_mm"].to_numpy(float) / sheet
    known = np.isfinite(ratio) & np.isfinite(share) & (rows["datum"] != "rim").to_numpy()
    share, ratio = np.clip(share[known], 0.0, 1.0), ratio[known]
    if ratio.size < FEWEST_WALLS:
        return Thinning(np.array([0.0, 1.0]), np.ones(2), int(ratio.size))
    cell = np.minimum((share * BINS).astype(int), BINS - 1)
    filled = [k for k in range(BINS) if np.any(cell == k)]
    return Thinning(
        np.array([float(np.mean(share[cell == k])) for k in filled]),
        np.array([float(np.median(ratio[cell == k])) for k in filled]),
        int(ratio.size),
    )


def shop_rims(book: Book) -> ShopRims | None:
    """Blank less finished rim of the book's batches; None where no batch says."""
    left = (book.batches["blank_rim_mm"] - book.batches["finished_rim_mm"]).dropna().to_numpy(float)
    if not left.size:
        return None
    return ShopRims(float(np.median(left)), float(left.min()), float(left.max()), int(left.size))


def blank_for(
    line: Meridian, *, thinning: Thinning, rims: ShopRims | None, wall: float = USUAL_WALL_MM
) -> Blank:
    """The blank for a bell whose inside is `line`; wall [mm] of the sheet.

    The rim is carried on, straight as it leaves, by the bead's metal and by what the shop trims beyond it.
    """
    middle = offset(line, wall / 2)
    bell = surface_area(middle, thinning)
    finished = 2 * float(line.r[-1])
    trim = finished + BEAD_ON_DIAMETER_MM
    uncut = trim + (SPARE if rims is None else max(rims.middle, SPARE))
    beyond = (
        np.pi / 4 * (uncut**2 - finished**2) / max(float(np.sin(line.slope[-1])), LEAST_SINE)
    )  # a cone's frustum
    sheet = bell + beyond * float(thinning.ratio[-1])
    length = line.length + (uncut - finished) / 2 / max(float(np.sin(line.slope[-1])), LEAST_SINE)
    tail = 2 * np.pi * float(middle.r[0])
    return Blank(
        sheet, float(np.sqrt(4 * sheet / np.pi)), length, tail, 2 * sheet / length - tail, trim, uncut, wall,
        thinning, rims,
    )  # fmt: skip


def surface_area(line: Meridian, thinning: Thinning) -> float:
    """Integral of ratio 2 pi r ds [mm^2]: the area that the line sweeps about the axis, of sheet as thick as before."""
    points = line.resampled(STEP)
    weight = np.interp(points.s / line.length, thinning.share, thinning.ratio)
    return float(np.trapezoid(weight * 2 * np.pi * points.r, points.s))
