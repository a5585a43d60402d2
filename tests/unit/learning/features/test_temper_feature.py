"""The temper of a sheet as a number: nought where the middle of the table's annealed brasses is."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.learning.features.batch_features import USUAL_YIELD_MPA
from springfit.mechanics.metal.alloy_table import read_alloys

ROUNDED_MPA = 2.0  # to the ten: the mean of the table is 121


def test_the_centre_is_the_mean_of_the_annealed_brasses() -> None:
    brasses = [metal for uns, metal in read_alloys().items() if uns.startswith("C2")]
    annealed = [row for metal in brasses for row in metal.rows(metal.definition) if row.temper == "annealed"]
    assert len(annealed) == len(brasses) > 1
    assert np.mean([row.yield_strength for row in annealed]) == pytest.approx(USUAL_YIELD_MPA, abs=ROUNDED_MPA)
