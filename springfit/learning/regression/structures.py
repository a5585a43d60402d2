"""The structures a shop may follow, each a prior over the same columns; which of them carries a shop is learned.

    laid     what laying says for the recorded conditions and this shop's hand, its weight and what nobody records
             learned, with free fields as the discrepancy between it and the bells
    assumed  the same by what the words of a record are assumed to mean: a hand is found from few bells
    free     free fields of locked-in stress alone, laid columns left out
    share    one hoop share for all bells through the shell, nothing else along the bell

Means and standard deviations are in shares of the flow stress the sheet has when it is let go.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from springfit.learning.basis.stress_fields import FIELDS, LAID, LAID_CHANGES
from springfit.learning.features.batch_features import LABELS
from springfit.learning.regression.link import FREE_LINK, LAID_LINK, Link
from springfit.learning.trade.trade_shares import TradeShares, trade_shares

__all__ = ["NEVER", "STARTING_SPREADS", "STRUCTURES", "Structure"]

# Where spreads begin: most are learned from a shop's records, so a start counts most where few batches speak.
STARTING_SPREADS: Mapping[str, float] = {
    "seat_tail": 0.4,  # [mm] hand seats of 0.1 to 0.8 mm are usual; common practice, no source
    "seat_witness": 0.08,  # [mm] setting to a scribed line, about the line's own width; assumed
    "seat_rim": 0.2,  # [mm] a rim face is ragged: half of `seat_tail`; assumed
    "wall": 0.008,  # [mm] a sheet about its nominal, 1.6 % of half a millimetre; assumed
    "bell_hoop": 0.06, "bell_along": 0.06,  # [-] bells of a batch share one anneal: under half of `batch_hoop`; assumed
    "bell_remainder": 0.006,  # [mm] what hands do otherwise from bell to bell, a quarter of a thou; assumed
    # [-] locked-in stress differs from heat to heat by 14 and 28 % (ASTM E1928-99, Table 1); the smaller to begin with
    "batch_hoop": 0.14, "batch_along": 0.14,
    # [-] natural logarithms: a hand's stand-off differs by a quarter; a temper's tensile range is 15 % wide (ASTM B36)
    "batch_stand_off": 0.25, "batch_closed": 0.25, "batch_strength": 0.1,
    # [-] a part of the spun length, 3 mm of 60, and a logarithm: what one hand does otherwise from batch to batch, by
    # eye; common practice, no source
    "batch_start": 0.05, "batch_skew": 0.15,
    # [-] shares: the same 14 % of the usual hoop share, 0.6; of what moment and edges may be about as much, assumed.
    # That batches differ in shape at all came of one bad bell of the development shop `standoff-1`.
    "batch_hoop_shape": 0.08, "batch_moment_shape": 0.06, "batch_hoop_edge": 0.05, "batch_moment_edge": 0.06,
    "effects": 0.2,  # [-] log multiplier by one unit of a feature, which a maker would call large: a fifth; assumed
    **{kind: 0.08 for kind in LABELS},  # [-] log multiplier of one spinner, lot ...: below what heats do; assumed
    "mandrels": 0.008,  # [mm] what the shell does not explain on one mandrel: a third of a thou; assumed
    # [mm] the same gap all along one mandrel: half the thou to which a caliper reads the steel's radius, or so the tube
    # stands free of it; common practice, no source
    "mandrel_size": 0.013,
    "thinning": 0.02,  # [walls] a spun wall hardly leaves the sheet's; Sugar et al. 2016 see thinning half-way up
    "rim": 0.5,  # [walls] where on the edge of the rim a rule finds the face: either edge of the wall is half off
    "home": 0.2,  # [mm] on the mean of all hands: half of one seat's scatter, assumed
    "by_feature": 1.0,  # [-] on those of what features change of a bell's shape: as `BY_FEATURE` has them
}  # fmt: skip

NEVER = 1e-4  # standard deviation of a column that a structure leaves out: a number that a solve can invert
_SHAPES = tuple(name for name in STARTING_SPREADS if name.endswith(("_shape", "_edge")))


# What nobody records may go with each feature otherwise than assumed: a springy sheet stands off further, a third pass
# brings the rim back. One unit of a feature is a change that a maker would call large. It may move a laid state by half
# of what the shop as a whole may be off its assumed value (strength by two thirds), and free fields by as much as
# batches differ; assumed. Half as much was tried and taken back after a look at `sample-shop-laid`. How much of that a
# shop bears out is learned (`by_feature`).
BY_FEATURE: Mapping[str, float] = {
    "batch_stand_off": 0.2, "batch_closed": 0.2, "batch_strength": 0.1,
    **{name: STARTING_SPREADS[name] for name in _SHAPES},
}  # fmt: skip


@dataclass(frozen=True)
class Structure:
    """One prior. By row of splines: `level` (mean, sd) of its mean and `walk` sd of a step between neighbours; `single`
    (mean, sd) of each other column by name; `shares` of those that the range of the trade tells together, and that
    the others leave out (None: none are); `by_feature` sd of what one unit of a feature does to a departure, by the
    spread that batches' own have, `NEVER` for others; `spreads` beside `STARTING_SPREADS`; `fixed` those never
    estimated; `link` how batches differ."""

    name: str
    link: Link
    level: Mapping[str, tuple[float, float]]
    walk: Mapping[str, float]
    single: Mapping[str, tuple[float, float]]
    by_feature: Mapping[str, float]
    spreads: Mapping[str, float]
    fixed: frozenset[str]
    shares: TradeShares | None = None

    @property
    def start(self) -> dict[str, float]:
        """The spreads to begin with."""
        return {**STARTING_SPREADS, **self.spreads}


def _by_feature(*spreads: str) -> dict[str, float]:
    return {name: BY_FEATURE[name] for name in spreads}


# Fields and changes that a structure is not to use: none of them, and surely
_NO_LAID = {FIELDS[place].name: (0.0, NEVER) for place in LAID}
_NO_CHANGES = dict.fromkeys((f"batch_{change}" for change in LAID_CHANGES), NEVER)
_NO_SHAPES = dict.fromkeys(_SHAPES, NEVER)

# Free fields. What shops of the trade hold in hoop and moment, each of one hand on horns of its own, is told by an
# ensemble of laying runs (`trade`). Drawn over the ring hardly any hoop is left (design study with finite elements).
#
# Chosen on `sample-shop`, by what it scored: the level of `meridional` and of what the tool's nose does to it (0.05
# before), and their walks (0.05 before for the nose's): along the flare less than records can tell from a seat. The
# ensemble has it at 0.1 to 0.4, with which new mandrels lose their places (`free` at `standoff-2` .055 to .093). Wider
# ones (level 0.15, walk 0.1) were tried since as further members of the mixture on development shops and did no better.
# `meridional_drawn` is as narrow, assumed; what records cannot tell of it stays in the band
# (`fitted_structure.TAIL_PULL`). Walks are steps between neighbouring splines.
#
# Of facet one unit is a corner 0.01 per mm above the flare: their sizes are assumed, no source.
_FREE = Structure(
    name="free",
    link=FREE_LINK,
    level={"meridional": (0.0, 0.02), "meridional_by_tool_nose": (0.0, 0.02)},
    walk={"meridional": 0.03, "meridional_by_tool_nose": 0.03},
    single={
        "hoop_drawn": (0.03, 0.05), "meridional_drawn": (0.0, 0.015), "hoop_facet": (0.0, 0.1),
        "moment_facet": (0.0, 0.2),
        **_NO_LAID,
    },
    by_feature={},
    spreads={**_NO_CHANGES, **_NO_SHAPES},
    fixed=frozenset({*_NO_CHANGES, *_NO_SHAPES, "by_feature"}),
    shares=trade_shares(),
)  # fmt: skip

# Where batches differ in shape, fields that know of size alone take the rims of a few batches for the shop's own.
_VARIED = replace(
    _FREE,
    name="varied",
    by_feature=_by_feature(*_SHAPES),
    spreads=_NO_CHANGES,
    fixed=frozenset(_NO_CHANGES),
)

_LAID = Structure(
    name="laid",
    link=LAID_LINK,
    # What laying leaves unexplained has no sign beforehand, and stays of this size: where it was let grow, fields of
    # more than all flow stress stood beside a laid state of negative weight (at a bad bell of the development shop
    # `standoff-1`). A fifth of flow stress in hoop and moment, a part of that along the bell; assumed.
    # End to end the thirteen splines of hoop may part by 0.5, the seven of moment by 0.15; an overlap may hold half the
    # usual hoop share more; one unit of radius is a rim 2.7 times as wide: assumed too. That radius over wall is a
    # field at all was kept by what `sample-shop` scored, and so were the two edges (0.3 before).
    level={"hoop": (0.0, 0.2), "meridional": (0.0, 0.05), "meridional_by_tool_nose": (0.0, 0.02), "moment": (0.0, 0.2)},
    walk={**_FREE.walk, "hoop": 0.15, "moment": 0.06},
    single={
        **{name: (0.0, sd) for name, (_, sd) in _FREE.single.items()},
        "hoop_overlap": (0.0, 0.3), "hoop_edge": (0.0, 0.1), "moment_edge": (0.0, 0.15),
        "hoop_radius": (0.0, 0.07), "moment_radius": (0.0, 0.2),
        # Finite elements are met within a few per cent given the inputs; the shop is not known to be laid at all, and
        # a weight of nought is two standard deviations off.
        "laid": (1.0, 0.5), "assumed": (0.0, NEVER),
        # Stand-offs behind the words are assumed and may be half as much again; a rim may come back by some of a step,
        # assumed; strength lies within its table, 15 %; start and skew as far as one step of `laid_state.STEP` or so.
        "laid_stand_off": (0.0, 0.4), "laid_closed": (0.0, 0.4), "laid_strength": (0.0, 0.15),
        "laid_start": (0.0, 0.08), "laid_skew": (0.0, 0.2),
    },
    # Where a hump begins and leans is the hand's, whatever the sheet: kept by what `sample-shop` scored.
    by_feature=_by_feature("batch_stand_off", "batch_closed", "batch_strength"),
    spreads={"batch_along": 0.05, **_NO_SHAPES},  # along: here of hoop share, as its level; assumed
    fixed=frozenset(_NO_SHAPES),
)  # fmt: skip

_ASSUMED = replace(
    _LAID, name="assumed", single={**_LAID.single, "laid": (0.0, NEVER), "assumed": _LAID.single["laid"]}
)

# Finite-element bells hold hoop shares of -0.5 to 1 (`mechanics.shell.limits`), and yield allows 1.15: 0.6 +- 0.5 spans
# that. All else is left out.
_SHARE = Structure(
    name="share",
    link=FREE_LINK,
    level={**{row: (0.0, NEVER) for row in _LAID.level}, "hoop": (0.6, 0.5)},
    walk={row: NEVER for row in _LAID.walk},
    single={name: (0.0, NEVER) for name in _LAID.single},
    by_feature={},
    spreads={**_NO_CHANGES, **_NO_SHAPES},
    fixed=frozenset({*_NO_CHANGES, *_NO_SHAPES, "by_feature"}),
)  # fmt: skip

STRUCTURES: Mapping[str, Structure] = {one.name: one for one in (_LAID, _ASSUMED, _FREE, _VARIED, _SHARE)}
