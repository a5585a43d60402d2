"""Stations from whatever they were counted from: the same place of the bell, from the tail."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.records.reading_kinds import DATUMS, z_from_tail

RIM_Z = 300.0


@pytest.mark.parametrize(("datum", "z"), [("rim", 80.0), ("tail", 220.0), ("witness", 220.0)])
def test_one_place_is_one_place_from_every_datum(datum: str, z: float) -> None:
    assert z_from_tail(datum, z, RIM_Z) == 220.0


def test_each_reading_goes_by_its_own_datum_and_back_again() -> None:
    datum, z = np.array([*DATUMS, "rim"], dtype=object), np.array([10.0, 20.0, 30.0, 40.0, 50.0])
    rims = np.array([RIM_Z] * 4 + [np.nan])
    from_tail = z_from_tail(datum, z, rims)
    np.testing.assert_array_equal(from_tail, [10.0, 20.0, 270.0, 40.0, np.nan])  # no rim written, no station
    np.testing.assert_array_equal(z_from_tail(datum, from_tail, rims)[:4], z[:4])
