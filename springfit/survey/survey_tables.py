"""A survey as tables, lengths in mm: the target in the record book's form, and what stands behind it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.survey.family_survey import Survey

__all__ = [
    "difference_table",
    "facet_table_of",
    "on_specimens",
    "piece_table",
    "spread_table",
    "target_tables_of",
]

FACET_COLUMNS = (
    "facet", "kind", "z_mm", "place_error_mm", "depth_mm", "depth_error_mm", "width_mm", "kink_deg", "found_on", "of",
    "not_told", "station_spacing_mm", "needs_mm",
)  # fmt: skip


def target_tables_of(survey: Survey, mandrel_id: str | None = None) -> dict[str, pd.DataFrame]:
    """`targets` (one row) and `target_profile`, as the record book has them."""
    note = f"survey of {len(survey.consensus.specimens)} originals of {survey.family}"
    target = {
        "target_id": survey.target_id, "mandrel_id": mandrel_id, "tolerance_mm": survey.tolerance,
        "slide_mm": None, "note": note,
    }  # fmt: skip
    profile = pd.DataFrame({"z_mm": survey.stations.z, "diameter_mm": 2.0 * survey.stations.r})
    profile.insert(0, "target_id", survey.target_id)
    return {"targets": pd.DataFrame([target]), "target_profile": profile}


def spread_table(survey: Survey) -> pd.DataFrame:
    """A row a station: the consensus, its error, the spread between specimens, how many agree, and each specimen."""
    spread, lined = survey.spread, survey.consensus.lined
    table = pd.DataFrame(
        {
            "s_mm": spread.s, "z_mm": survey.stations.z, "diameter_mm": 2.0 * survey.stations.r,
            "error_mm": spread.error, "between_mm": spread.between,
            "reach": spread.reach.astype(int), "agree": spread.agree.astype(int), "masked": spread.masked,
        }
    )  # fmt: skip
    for number, one in enumerate(survey.consensus.specimens):
        arc, off = lined.arc[number], lined.off[number]
        on = np.isfinite(arc)
        away = np.interp(
            spread.s, arc[on], (off[on] + lined.waved(number, arc[on])), left=np.nan, right=np.nan
        )
        table[f"off_{one.specimen_id}_mm"] = away
    return table


def facet_table_of(survey: Survey) -> pd.DataFrame:
    """A row a facet of the consensus, tail to rim; its depth blank where the stations are too sparse for one."""
    rows = [
        {
            "facet": number, "kind": one.facet.kind, "z_mm": one.facet.z, "place_error_mm": one.place_error,
            "depth_mm": one.facet.depth if one.facet.tells_depth else np.nan,
            "depth_error_mm": one.facet.depth_error if one.facet.tells_depth else np.nan,
            "width_mm": one.facet.width if one.facet.tells_width else np.nan,
            "kink_deg": round(float(np.degrees(one.facet.kink)), 2) if one.facet.tells_depth else np.nan,
            "found_on": one.found_in, "of": len(one.on),
            "not_told": sum(each.there == "not told" for each in one.on),
            "station_spacing_mm": one.facet.spacing,
            "needs_mm": np.nan if one.facet.tells_depth else one.facet.widest_spacing,
        }
        for number, one in enumerate(survey.facets, start=1)
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(FACET_COLUMNS))


def on_specimens(survey: Survey) -> pd.DataFrame:
    """A row a facet and specimen: whether it is there, how deep (blank as in the facet's own row) and how far along."""
    rows = []
    for number, one in enumerate(survey.facets, start=1):
        depth = one.facet.depth if one.facet.tells_depth else np.nan
        rows += [
            {
                "facet": number, "specimen_id": each.specimen_id, "there": each.there,
                "depth_mm": each.share * depth, "depth_error_mm": each.share_error * depth,
                "shift_mm": each.shift, "shift_error_mm": each.shift_error,
            }
            for each in one.on
        ]  # fmt: skip
    columns = ["facet", "specimen_id", "there", "depth_mm", "depth_error_mm", "shift_mm", "shift_error_mm"]
    return pd.DataFrame(rows, columns=columns)


def difference_table(survey: Survey) -> pd.DataFrame:
    """A row a specimen: what was taken out of it, how it differs, what it lacks."""
    trust = {one.specimen_id: one.trust for one in survey.consensus.specimens}
    return pd.DataFrame(
        [
            {
                "specimen_id": one.specimen_id, "trust": trust[one.specimen_id], "slide_mm": one.slide,
                "offset_mm": one.offset, "slow_mm": one.slow, "rms_mm": one.rms, "odd": one.odd,
            }
            for one in survey.differences
        ]
    )  # fmt: skip


def piece_table(survey: Survey) -> pd.DataFrame:
    """A row a piece of the meridian, tail to rim; radius blank on a taper and on a free flare."""
    line, rows = survey.consensus.line, []
    for piece in survey.pieces:
        first, last = line.at(piece.start), line.at(piece.end)
        bent = piece.kind == "arc" and piece.curvature != 0
        rows.append(
            {
                "piece": piece.kind, "from_z_mm": float(first.z), "begins_error_mm": piece.start_error,
                "from_diameter_mm": 2 * float(first.r), "to_z_mm": float(last.z), "to_diameter_mm": 2 * float(last.r),
                "slope_deg": round(float(np.degrees(float(first.slope))), 2),
                "radius_mm": 1 / piece.curvature if bent else np.nan,
            }
        )  # fmt: skip
    return pd.DataFrame(rows)
