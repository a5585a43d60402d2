"""A hundred invented families surveyed: python -m tests.benchmarks.families_of_originals [FIRST] [LAST] [--facets 0]

A line a family and the totals. Truth and consensus are compared along the normal after the one slide that no survey can
know: where along the axis the family's own tail lay. Beside the consensus stands a plain average: diameters over z from
each bell's own tail, walls taken off, averaged; and what no average of these bells can be without: how far the mean of
their insides lies off, had every reading been true and every dent been known.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.spatial import cKDTree

from springfit.survey.consensus import consensus_of
from springfit.survey.differences import spread_of
from springfit.survey.shared_facets import SharedFacet, shared_facets
from springfit.survey.specimens import specimens_of
from tests.helpers.originals.facet_lines import FloatArray, Line
from tests.helpers.originals.family_book import family_book, original_sheets
from tests.helpers.originals.original_families import Family, drawn_family

SAME_MM = 6.0  # along the arc within which a facet that was found is the one that was planted
NORMAL_90 = 1.645  # standard deviations each way of a normal 90 % band
END_MM = 8.0  # at the rim, where a bead may be rolled: not judged


@dataclass(frozen=True)
class FamilyScore:
    """One family: rms normal distance of consensus, plain average and the bells' own mean from the truth [mm].

    in_band: share of places where the truth is within the 90 % band stated; facets planted, found and false; how far
    off each found one lies along the arc and in depth [mm].
    """

    seed: int
    rms: float
    plain_rms: float
    unseen_rms: float
    in_band: float
    planted: int
    found: int
    false: int
    places: tuple[float, ...]
    depths: tuple[float, ...]


def scored(seed: int, folder: Path, *, facets: int = 2, fair: str | None = None) -> FamilyScore:
    """The score of the family of `seed`, its book written into `folder`."""
    family = drawn_family(seed, facets=facets, fair=fair)
    book = family_book(folder, original_sheets(family.originals))
    consensus = consensus_of(specimens_of(book, "LARK")[0])
    found = shared_facets(consensus)
    places = np.arange(2.0, consensus.line.length - END_MM, 1.0)
    spread = spread_of(consensus, places)
    points = consensus.line.at(places[~spread.masked])
    slide, off = _apart(family.truth, points.z, points.r)
    hits, false = _matched(family, found, slide)
    inside = np.abs(off) < NORMAL_90 * spread.error[~spread.masked]  # nan, past an end of the truth, is not
    return FamilyScore(
        seed, _rms(off), _plain(family), _unseen(family), float(np.mean(inside[np.isfinite(off)])),
        len(family.facets), len(hits), false,
        tuple(place for place, _ in hits), tuple(depth for _, depth in hits),
    )  # fmt: skip


def _rms(off: FloatArray) -> float:
    return float(np.sqrt(np.nanmean(off**2)))


def _apart(truth: Line, z: FloatArray, r: FloatArray) -> tuple[float, FloatArray]:
    """The slide [mm] that lays points on the truth, and the normal distances (n,) left [mm], nan past its ends."""
    fine = cKDTree(np.column_stack((truth.z, truth.r)))
    slide, off = 0.0, np.zeros_like(z)
    for _ in range(8):
        near = fine.query(np.column_stack((z + slide, r)))[1]
        inside = (near > 0) & (near < truth.z.size - 1)
        sine, cosine = np.sin(truth.slope[near]), np.cos(truth.slope[near])
        off = -(z + slide - truth.z[near]) * sine + (r - truth.r[near]) * cosine
        slide += float(np.sum((off * sine)[inside]) / np.sum(sine[inside] ** 2))
    return slide, np.where(inside, off, np.nan)


def _unseen(family: Family) -> float:
    """The rms of what the mean of the bells' own insides lies off, where they are judged, after the best slide."""
    judged = (family.truth.s > 2.0) & (family.truth.s < family.truth.s[-1] - END_MM)
    off, sine = family.unseen[judged], np.sin(family.truth.slope[judged])
    return _rms(off - sine * np.sum(off * sine) / np.sum(sine**2))


def _plain(family: Family) -> float:
    """The plain average's rms: outside diameters averaged over z from each tail, less twice the mean wall."""
    z = np.linspace(
        max(one.z[0] for one in family.originals),
        min(one.z[-1] for one in family.originals) - END_MM / 3,
        200,
    )
    outside = np.mean([np.interp(z, one.z, one.outside) for one in family.originals], axis=0)
    wall = float(np.mean([one.wall for one in family.originals]))
    slope = np.arctan(np.gradient(outside / 2, z))
    return _rms(_apart(family.truth, z + wall * np.sin(slope), outside / 2 - wall * np.cos(slope))[1])


def _matched(
    family: Family, found: Sequence[SharedFacet], slide: float
) -> tuple[list[tuple[float, float]], int]:
    """Errors of place and depth of each planted facet that was found, and how many were found that were not planted."""
    at = [float(np.interp(one.facet.z + slide, family.truth.z, family.truth.s)) for one in found]
    hits, used = [], set()
    for planted, depth in zip(family.facets, family.depths, strict=True):
        near = [i for i in range(len(at)) if abs(at[i] - planted.s) < SAME_MM and i not in used]
        if near:
            best = min(near, key=lambda i: abs(at[i] - planted.s))
            used.add(best)
            hits.append((at[best] - planted.s, found[best].facet.depth - depth))
    return hits, len(found) - len(used)


def totals(scores: Sequence[FamilyScore]) -> list[str]:
    """What a hundred families say together."""
    rms, plain, unseen = (
        np.array([getattr(one, name) for one in scores]) for name in ("rms", "plain_rms", "unseen_rms")
    )
    places, depths = (
        np.abs([x for one in scores for x in getattr(one, name)]) for name in ("places", "depths")
    )
    said = [
        f"{len(scores)} families: rms {np.sqrt(np.mean(rms**2)):.4f} mm, within 0.015 in {np.mean(rms < 0.015):.0%}; "
        f"plain average {np.sqrt(np.mean(plain**2)):.4f}; worst {rms.max():.4f}, {np.sum(rms >= 0.015)} above 0.015",
        f"the bells' own mean: rms {np.sqrt(np.mean(unseen**2)):.4f} mm, worst {unseen.max():.4f}, "
        f"{np.sum(unseen >= 0.015)} above 0.015; consensus further off by {np.max(rms - unseen):.4f} at most",
        f"truth within the 90 % band stated at {np.mean([one.in_band for one in scores]):.0%} of places",
        f"all facets found in {np.mean([one.found == one.planted for one in scores]):.0%}, "
        f"false ones in {np.mean([one.false > 0 for one in scores]):.0%}",
    ]
    if places.size:
        said.append(
            f"place within 1.5 mm in {np.mean(places < 1.5):.0%}, depth within 0.02 mm in {np.mean(depths < 0.02):.0%}"
        )
    return said


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("first", type=int, nargs="?", default=0)
    asked.add_argument("last", type=int, nargs="?", default=100)
    asked.add_argument("--facets", type=int, default=2)
    asked.add_argument("--fair", help="kind of fair line, such as 'smooth arcs'")
    options = asked.parse_args()
    scores = []
    for seed in range(options.first, options.last):
        with tempfile.TemporaryDirectory() as folder:
            scores.append(scored(seed, Path(folder) / "book", facets=options.facets, fair=options.fair))
        print(scores[-1], flush=True)
    print("\n".join(totals(scores)))


if __name__ == "__main__":
    main()
