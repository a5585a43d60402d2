"""Facets of a job: those on the steel, those wanted, what the bell keeps of them, and how deep to cut each.

A bell answers a facet with springback of its own, and not always by giving some of it back: the kept share, bell over
mandrel, may be less or more than one. So a wanted depth is cut as wanted / kept. The share has no band: a forecast
tells the spread of the gap at each station, not how the gaps of neighbouring stations go together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from springfit.decisions.forecast import Forecast
from springfit.geometry.facets.finder import Facet, FacetFinder
from springfit.geometry.meridian import Meridian

__all__ = ["FACET_COLUMNS", "facet_table"]

FACET_COLUMNS = (
    "facet", "on", "kind", "z_mm", "bell_z_mm", "depth_mm", "width_mm", "kink_deg", "kept_share",
    "wanted_depth_mm", "depth_to_cut_mm", "station_spacing_mm", "mandrel_needs_mm", "target_needs_mm", "washes_out",
)  # fmt: skip

# Along z within which a facet on the steel and one wanted are the same; a quarter of a dish; assumed
SAME_PLACE_MM = 10.0
# A quarter, assumed: it would have to be cut four times as deep.
LEAST_KEPT = (
    0.25  # a bell that keeps less than this of a facet cannot be told what to do by cutting it deeper
)


@dataclass(frozen=True)
class _Pair:
    """One facet as it is on the steel and as it is wanted, either of which may be missing."""

    steel: Facet | None
    wanted: Facet | None

    @property
    def any(self) -> Facet:
        one = self.steel or self.wanted
        assert one is not None
        return one


def facet_table(
    steel: FacetFinder,
    target: FacetFinder,
    forecast: Forecast,
    predict: Callable[[Meridian], Forecast],
) -> pd.DataFrame:
    """A row a facet from tail to rim, columns FACET_COLUMNS; none when there is no facet.

    forecast: of the steel as it is; predict: the bell of any mandrel. What is wanted and not on the steel yet is
    let into it for the forecast that tells its share. Depths, and all that hangs on them, are blank where stations are
    too sparse; mandrel_needs and target_needs are then the widest spacing of stations that would tell one. washes_out:
    the bell keeps so little that no depth of cut makes the facet.
    """
    alike = steel.told_as(target)
    steel, target = (alike, target) if alike.facets != steel.facets else (steel, target.told_as(steel))
    pairs = _paired(steel.facets, target.facets)
    rows = []
    for number, pair in enumerate(pairs, start=1):
        kept, bell_z = _kept(pair, steel, forecast, predict)
        rows.append(_row(number, pair, kept, bell_z))
    return pd.DataFrame(rows, columns=list(FACET_COLUMNS))


def _paired(steel: tuple[Facet, ...], wanted: tuple[Facet, ...]) -> list[_Pair]:
    """Facets of one kind at one place put together, the nearest first."""
    apart = sorted(
        (abs(one.z - other.z), i, j)
        for i, one in enumerate(steel)
        for j, other in enumerate(wanted)
        if one.kink * other.kink > 0 and one.term.shape == other.term.shape
    )
    match: dict[int, int] = {}
    for distance, i, j in apart:
        if distance <= SAME_PLACE_MM and i not in match and j not in match.values():
            match[i] = j
    pairs = [_Pair(one, wanted[match[i]] if i in match else None) for i, one in enumerate(steel)]
    pairs += [_Pair(None, other) for j, other in enumerate(wanted) if j not in match.values()]
    return sorted(pairs, key=lambda pair: pair.any.z)


def _kept(
    pair: _Pair, steel: FacetFinder, forecast: Forecast, predict: Callable[[Meridian], Forecast]
) -> tuple[float, float]:
    """Share that the bell keeps, and the station [mm] at which the bell has it; nan off the bell or without a depth."""
    if not pair.any.tells_depth:
        return np.nan, np.nan
    finder, facet = steel, pair.steel
    if facet is None:
        if not steel.meridian.z[0] <= pair.any.z <= steel.meridian.z[-1]:
            return np.nan, np.nan
        finder, facet = steel.with_facet(pair.any)
        forecast = predict(finder.meridian)
    kept, shift = finder.kept(facet, forecast.meridian, forecast.gap)
    if not np.isfinite(kept):
        return np.nan, np.nan
    place = forecast.meridian.at(facet.s + shift)
    gap = float(np.interp(place.s, forecast.meridian.s, forecast.gap))
    return kept, float(place.z - gap * np.sin(place.slope))


def _row(number: int, pair: _Pair, kept: float, bell_z: float) -> dict[str, object]:
    facet, steel, wanted = pair.any, pair.steel, pair.wanted
    wanted_depth = (wanted.depth if wanted.tells_depth else np.nan) if wanted else 0.0
    washed_out = np.isfinite(kept) and kept < LEAST_KEPT
    to_cut = np.nan if washed_out or not np.isfinite(wanted_depth) else wanted_depth / kept
    tells = steel is not None and steel.tells_depth
    return {
        "facet": number,
        "on": "both" if steel and wanted else "mandrel" if steel else "target",
        "kind": facet.kind,
        "z_mm": facet.z,
        "bell_z_mm": bell_z,
        "depth_mm": steel.depth if steel and tells else 0.0 if steel is None else np.nan,
        "width_mm": facet.width if facet.tells_width else np.nan,
        "kink_deg": round(float(np.degrees(facet.kink)), 2) if facet.tells_depth else np.nan,
        "kept_share": round(kept, 2),
        "wanted_depth_mm": wanted_depth,
        "depth_to_cut_mm": to_cut,
        "station_spacing_mm": facet.spacing,
        "mandrel_needs_mm": _spacing_needed(steel),
        "target_needs_mm": _spacing_needed(wanted),
        "washes_out": bool(washed_out),
    }


def _spacing_needed(facet: Facet | None) -> float:
    """Widest spacing of stations [mm] that tells the depth of a facet; nan where it is told, or there is none."""
    return np.nan if facet is None or facet.tells_depth else facet.widest_spacing
