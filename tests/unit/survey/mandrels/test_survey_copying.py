"""A worn mandrel's first line: facets worn down, trim rings, plated once, given back from its revisions."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.survey.mandrels.copying import copied
from tests.helpers.originals.worn_revisions import PLATING_MM, RMS_MM, WORN_MM, rms_off, worn_mandrel


@pytest.mark.parametrize("seed", range(3))  # and fifty by hand: `tests.benchmarks.survey_mandrels`
def test_the_first_line_is_given_back(seed: int) -> None:
    truth, revisions = worn_mandrel(seed)
    copy = copied(revisions)
    assert rms_off(copy, truth) < RMS_MM
    assert copy.first_was_measured
    assert copy.levels[-1] == pytest.approx(PLATING_MM, abs=0.005)


def test_wear_is_told_where_it_is() -> None:
    """At the worn facets 0.04 mm after 400 bells, away from them none."""
    copy = copied(worn_mandrel(2)[1])
    assert WORN_MM - 0.015 < np.sort(copy.wear)[-5] < WORN_MM + 0.015
    assert np.median(copy.wear) < 0.008


def test_a_mandrel_first_measured_worn_is_told_so_and_worked_back() -> None:
    truth, revisions = worn_mandrel(2, first_measured=100)
    copy = copied(revisions)
    assert not copy.first_was_measured
    assert rms_off(copy, truth) < RMS_MM


def test_no_revision_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one profile"):
        copied(())
