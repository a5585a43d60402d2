"""Revisions of a mandrel that wears, is plated and is marked by trim rings, its first line known."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from springfit.survey.mandrels.copying import Copy, Measured
from tests.helpers.originals.facet_lines import FAIR, INCH, Planted, stations, with_facets

RMS_MM = 0.015
WORN_MM, BELLS, PLATING_MM = 0.04, 400, 0.012
READING_SD = 0.005  # [mm] of a diameter
RING_MM, RING_WIDTH = 0.15, 2.0  # depth and width of a trim ring


def worn_mandrel(seed: int, first_measured: int = 0) -> tuple[np.ndarray, tuple[Measured, ...]]:
    """The first line (z, r) and five revisions: every hundred bells, plated after the third, two trim rings since the
    second."""
    draw = np.random.default_rng([seed, 7])
    while True:
        line = FAIR["bessel"](draw)
        ridges = [float(line.s[np.searchsorted(line.slope, slope)]) for slope in (0.12, 0.4)]
        if ridges[1] - ridges[0] > 50 and ridges[1] < line.s[-1] - 40:
            break
    crowns = [Planted(at, 36.0, depth=-0.09) for at in ridges]
    truth = np.column_stack(with_facets(line, crowns))
    rings = line.s[-1] - np.array([18.0, 30.0]) + draw.uniform(-3, 3, 2)
    made = []
    for k in range(5):
        bells = max(100 * k, first_measured)
        low = [Planted(at, 36.0, depth=-0.09 + WORN_MM * bells / BELLS) for at in ridges]
        z, r = with_facets(line, low)
        out = np.full(line.s.size, PLATING_MM if k >= 3 else 0.0)
        if k >= 2:
            out = out - RING_MM * np.max(np.abs(line.s[:, None] - rings) < RING_WIDTH / 2, axis=1)
        at_z, _ = stations(line, INCH / 4, 0.0, draw)
        at_z = at_z + draw.uniform(0, 2.0)
        moved_z, moved_r = z - out * np.sin(line.slope), r + out * np.cos(line.slope)
        at_z = at_z[at_z < moved_z[-1]]
        diameter = 2 * np.interp(at_z, moved_z, moved_r) + READING_SD * draw.standard_normal(at_z.size)
        made.append(Measured(f"revision {k}", at_z, diameter, bells, k >= 3))
    return truth, tuple(made)


def rms_off(copy: Copy, truth: np.ndarray) -> float:
    tree = cKDTree(truth)
    z, r = copy.z[4:-4], copy.diameter[4:-4] / 2
    near = tree.query(np.column_stack((z, r)))[1]
    slope = np.arctan2(np.gradient(truth[:, 1]), np.gradient(truth[:, 0]))[near]
    off = -(z - truth[near, 0]) * np.sin(slope) + (r - truth[near, 1]) * np.cos(slope)
    return float(np.sqrt(np.mean(off**2)))
