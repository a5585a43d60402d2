"""The median of all the others, beside numpy's of each value left out in turn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from springfit.records.checks.others_median import others_median

SIZES = st.sampled_from([0.0, 0.1, 0.25, 3.0, 3.0000001, 40.0]) | st.floats(-1e3, 1e3)


@given(st.lists(SIZES, min_size=2, max_size=30))
def test_as_leaving_each_out(values: list[float]) -> None:
    known = np.array(values)
    expected = [np.median(np.delete(known, n)) for n in range(len(known))]
    assert others_median(known).tolist() == expected


@pytest.mark.parametrize("values", [[], [1.5]])
def test_where_there_are_no_others(values: list[float]) -> None:
    assert np.isnan(others_median(np.array(values, dtype=float))).all()
