"""The columns a bell is explained by: free fields of locked-in stress, and what laying says for its conditions.

A *free* field is one share of flow stress along one feature, its size wholly the records' to say. A *laid* column is
the whole state that `mechanics.laying` finds for the recorded conditions, or how that state changes with what nobody
records: how far the preform stands off and where, and how strong the sheet is. It is laid twice: by the shop's hand,
and as its words are assumed to mean, for a hand found from few bells may be the wrong one. Which of them carries a shop
is learned.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FIELDS", "LAID", "LAID_CHANGES", "LAID_FROM", "Field", "of_share"]


@dataclass(frozen=True)
class Field:
    """One column: its `share` ("hoop", "meridional", "moment", or "laid" for a whole state), the `feature` it follows,
    and for splines of the flare coordinate its place in the row (else -1). `by` is a feature of the batch that scales
    the column ("" for none)."""

    name: str
    share: str
    feature: str
    place: int = -1
    by: str = ""


LAID_CHANGES = ("stand_off", "closed", "strength", "start", "skew")
"""What nobody records, each a change of the laying case (see `laid_state`); the first three were kept by what
`sample-shop-laid` scored."""
LAID_FROM = ("wall", "temper", "anneal", "passes", "hump", "tool_nose")
"""Batch features that laying is worked out from."""


def _splines(share: str, count: int, by: str = "") -> list[Field]:
    tail = f"_by_{by}" if by else ""
    return [Field(f"{share}_flare{tail}_{i}", share, f"flare{count}", i, by) for i in range(count)]


def _laid() -> list[Field]:
    """The state as this shop's hand lays it, its changes, and the state that the words are assumed to mean."""
    return [
        Field("laid", "laid", "laid"),
        *(Field(f"laid_{change}", "laid", change) for change in LAID_CHANGES),
        Field("assumed", "laid", "assumed"),
    ]


# Splines in a row: of hoop one for each knot of the flare and one, of moment half as many, assumed; of meridional six,
# for thirteen before, kept by what `sample-shop` scored.
FIELDS: tuple[Field, ...] = (
    *_splines("hoop", 13),
    *_splines("meridional", 6),
    *_splines("meridional", 6, by="tool_nose"),
    *_splines("moment", 7),
    Field("hoop_drawn", "hoop", "drawn"),
    Field("meridional_drawn", "meridional", "drawn"),
    Field("hoop_overlap", "hoop", "overlap"),
    Field("hoop_edge", "hoop", "edge"),
    Field("moment_edge", "moment", "edge"),
    Field("hoop_radius", "hoop", "radius_over_wall"),
    Field("moment_radius", "moment", "radius_over_wall"),
    Field("hoop_facet", "hoop", "facet"),
    Field("moment_facet", "moment", "facet"),
    *_laid(),
)


def of_share(*shares: str) -> NDArray[np.bool_]:
    """Which FIELDS are of these shares, (fields,)."""
    return np.array([field.share in shares for field in FIELDS])


LAID = np.flatnonzero(of_share("laid"))
