"""The swelling that passes toward the tail leave: what the record shows of it, for forecasts of such a batch.

It is a fault and never steel's business, but a maker who asks what a batch with back passes will give must see it.
It sits just past the draw end; place, width and height come from the faulty stretches of recorded batches with back
passes, starting from what the trade knows. Whether it comes at all is learned too: every passed-back bell that is sound
there lowers the chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

__all__ = ["BackPassHump", "FaultyStretch", "learn_hump"]

Floats = NDArray[np.float64]

# 30-40 thou on diameter and more is usual, 0.38 to 0.5 mm per side, and twice that spread is met; common practice, no
# source. Worth two bells.
USUAL_SIZE, USUAL_SIZE_SD, PSEUDO = 0.44, 0.12, 2.0
# [mm] past the draw end, and 1 sd of the shape: half an inch either way; common practice, no source.
USUAL_PLACE, USUAL_PLACE_SD = 12.0, 6.0
USUAL_WIDTH = 12.0
FEWEST_ROWS = 4  # of a stretch: one more than the numbers of a swelling, which would fit as many whatever they say
# Between which one swelling is fitted, all assumed: sizes [mm] from a dent's, which is then no swelling, to seven times
# the usual one; places [mm] outside the rows as far as nearly a width; widths [mm] of a third to 2.5 times the usual.
SIZES, OUTSIDE_MM, WIDTHS = (-1.0, 3.0), 10.0, (4.0, 30.0)
INSIDE = 1e-6  # by which a search begins inside its bounds, as it has to
STRAY_MM = 0.02  # what a row may be off before it counts for less; not quite a thou, some errors of a caliper; assumed
# Bells beforehand that show it, and that do not: usual where the last pass runs toward the tail while clamped (common
# practice, no source), but a hand may pass back without, so six sound bells leave it to the band.
SWOLLEN_BEFOREHAND, SOUND_BEFOREHAND = 2.0, 0.5
TOLD_FROM = 0.25  # chance below which a swelling is left to the band: told, it would be wrong three times in four


@dataclass(frozen=True)
class FaultyStretch:
    """Rows of one bell's fault: `past_draw` arc beyond the draw end (n,) [mm] and `rest` gap beyond springback [mm]."""

    batch_id: str
    past_draw: Floats
    rest: Floats


@dataclass(frozen=True)
class BackPassHump:
    """A bell-shaped swelling: `size` [mm] per side with `size_sd`, centred `place` [mm] past the draw end with
    `place_sd`, 1 sd of its shape `width` [mm]; `bells` seen."""

    size: float = USUAL_SIZE
    size_sd: float = USUAL_SIZE_SD
    place: float = USUAL_PLACE
    place_sd: float = USUAL_PLACE_SD
    width: float = USUAL_WIDTH
    bells: int = 0
    sound: int = 0
    """Bells that were passed back and show none."""

    @property
    def chance(self) -> float:
        """Of a passed-back bell to swell."""
        swollen = SWOLLEN_BEFOREHAND + self.bells
        return swollen / (swollen + SOUND_BEFOREHAND + self.sound)

    def gap(self, past_draw: Floats, passed: float = 1.0) -> tuple[Floats, Floats]:
        """Mean and standard deviation [mm] of the swelling at arcs past the draw end (n,), where passes toward the tail
        were made with probability `passed`; a swelling less likely than `TOLD_FROM` is in the band alone."""
        offset = (past_draw - self.place) / self.width
        shape, chance = np.exp(-0.5 * offset**2), passed * self.chance
        slope = self.size * shape * offset / self.width
        sd, size = np.hypot(self.size_sd * shape, self.place_sd * slope), self.size * shape
        mean = chance * size if chance >= TOLD_FROM else np.zeros_like(size)
        return mean, np.sqrt(chance * sd**2 + chance * (size - mean) ** 2 + (1.0 - chance) * mean**2)


def learn_hump(
    stretches: Sequence[FaultyStretch], known: BackPassHump | None = None, *, sound: int = 0
) -> BackPassHump:
    """The hump of the shop from faulty stretches of batches with back passes and the count of their `sound` bells,
    added to those of which `known` is the hump (None: the usual one, of none). The same in one step or in several."""
    known = known or BackPassHump()
    known = replace(known, sound=known.sound + sound)
    fits = [fit for fit in (_fitted(stretch) for stretch in stretches) if fit is not None]
    if not fits:
        return known
    size, place, width = (np.array(values) for values in zip(*fits, strict=True))
    before, bells = PSEUDO + known.bells, known.bells + len(fits)
    mean = {
        name: float((before * had + values.sum()) / (PSEUDO + bells))
        for name, had, values in (
            ("size", known.size, size), ("place", known.place, place), ("width", known.width, width)
        )
    }  # fmt: skip
    size_sd = _pooled(size, mean["size"], (known.size, known.size_sd, USUAL_SIZE), known.bells)
    place_sd = _pooled(place, mean["place"], (known.place, known.place_sd, USUAL_PLACE), known.bells)
    return BackPassHump(**mean, size_sd=size_sd, place_sd=place_sd, bells=bells, sound=known.sound)


def _pooled(values: Floats, mean: float, known: tuple[float, float, float], bells: int) -> float:
    """Standard deviation about `mean` of the new `values` and of what `bells` gave a mean and deviation of (the first
    two of `known`; the third is the usual value, which weighs as `PSEUDO` bells in that mean)."""
    had, deviation, usual = known
    moved = had - mean
    squares = (PSEUDO + bells) * deviation**2 + moved * (2 * PSEUDO * (had - usual) + bells * moved)
    return float(np.sqrt((squares + np.sum((values - mean) ** 2)) / (PSEUDO + bells + len(values))))


def _fitted(stretch: FaultyStretch) -> tuple[float, float, float] | None:
    """Size, place and width of one bell's swelling; None when the rows cannot tell."""
    if len(stretch.rest) < FEWEST_ROWS:
        return None
    top = int(np.argmax(stretch.rest))

    def misfit(parameters: Floats) -> Floats:
        size, place, width = parameters
        return size * np.exp(-0.5 * ((stretch.past_draw - place) / width) ** 2) - stretch.rest

    start = [stretch.rest[top], stretch.past_draw[top], USUAL_WIDTH]
    low = [SIZES[0], stretch.past_draw.min() - OUTSIDE_MM, WIDTHS[0]]
    high = [SIZES[1], stretch.past_draw.max() + OUTSIDE_MM, WIDTHS[1]]
    found = least_squares(
        misfit,
        np.clip(start, np.add(low, INSIDE), np.subtract(high, INSIDE)),
        bounds=(low, high),
        loss="soft_l1",
        f_scale=STRAY_MM,
    )
    return (float(found.x[0]), float(found.x[1]), float(found.x[2])) if found.x[0] > 0 else None
