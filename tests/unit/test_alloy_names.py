"""Common names of alloys: each says one alloy of the table, or none."""

from __future__ import annotations

import pytest

from springfit.alloy_names import ALLOY_NAMES, uns_of
from springfit.mechanics.metal.alloy_table import read_alloys

# Names as the Copper Development Association and ASTM B36/B122 have them, and as EN 1412 numbers them (CDA Publication
# 120, table 16).
NAMES = {
    "70/30 brass": "C26000", "Brass 70/30": "C26000", "cartridge brass": "C26000", "Cartridge Brass, 70%": "C26000",
    "CuZn30": "C26000", "CW505L": "C26000", "260": "C26000", "CDA 260": "C26000", "C260": "C26000", "c26000": "C26000",
    "UNS C26000": "C26000", "70-30": "C26000", "Alloy 260": "C26000", "yellow brass": "C26800",
    "65/35 brass": "C27000", "63/37": "C27200", "CuZn37": "C27200", "red brass": "C23000", "85/15": "C23000",
    "commercial bronze": "C22000", "90/10 brass": "C22000", "nickel silver 65-18": "C75200", "CuNi18Zn27": "C77000",
    "brass": None, "nickel silver": None, "bronze 90/10": None, "nickel silver 70/30": None, "170/30": None, "": None,
    "100": None, "C99999": "C99999", "30/70": None, "n/a": None,
}  # fmt: skip


@pytest.mark.parametrize(("name", "uns"), NAMES.items())
def test_a_name_says_one_alloy_or_none(name: str, uns: str | None) -> None:
    assert uns_of(name) == uns


def test_the_names_are_those_of_the_table() -> None:
    table = read_alloys()
    assert set(ALLOY_NAMES) == set(table)
    assert {uns: one.told for uns, one in ALLOY_NAMES.items()} == {uns: one.name for uns, one in table.items()}
    for uns, entry in table.items():
        if len(entry.en_equivalent) == 6:
            assert uns_of(entry.en_equivalent) == uns
