"""Common names of alloys: each says one alloy of the table, or none."""

from __future__ import annotations

import pytest

from springfit.alloy_names import ALLOY_NAMES, own_metal, uns_of
from springfit.mechanics.metal.alloy_table import read_alloys
from springfit.mechanics.metal.alloys import alloy, yield_strength

# Names as the Copper Development Association and ASTM B36/B122 have them, and as EN 1412 numbers them (CDA Publication
# 120, table 16).
NAMES = {
    "70/30 brass": "C26000", "Brass 70/30": "C26000", "cartridge brass": "C26000", "Cartridge Brass, 70%": "C26000",
    "CuZn30": "C26000", "CW505L": "C26000", "260": "C26000", "CDA 260": "C26000", "C260": "C26000", "c26000": "C26000",
    "UNS C26000": "C26000", "70-30": "C26000", "Alloy 260": "C26000", "yellow brass": "C26800",
    "65/35 brass": "C27000", "63/37": "C27200", "CuZn37": "C27200", "red brass": "C23000", "85/15": "C23000",
    "commercial bronze": "C22000", "90/10 brass": "C22000", "nickel silver 65-18": "C75200", "CuNi18Zn27": "C77000",
    "brass": None, "nickel silver": None, "bronze 90/10": None, "nickel silver 70/30": None, "170/30": None, "": None,
    "Cartridge Brass (C260)": "C26000", "C26000 (cartridge brass 70/30)": "C26000", "CuZn30 (CW505L)": "C26000",
    "brass 260": "C26000", "63/37 (C260)": None, "C26000 (not sure)": None, "70/30 brass (half hard)": None,
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


@pytest.mark.parametrize("said", ["E 117 GPa, yield 69 MPa", "E=117 gpa; Yield = 69 MPa", "e 117000 MPa yield 69 mpa"])
def test_a_metal_of_ones_own_by_modulus_and_annealed_yield(said: str) -> None:
    """Copper C11000 OS050: 117 GPa, 69 MPa (CDA's data sheet)."""
    assert own_metal(said) == (117e3, 69.0)
    assert uns_of(said) == "E 117 GPa, yield 69 MPa"
    metal, brass = alloy(said), alloy("C26000")
    assert metal.youngs_modulus == 117e3 and yield_strength(metal, "O61").value == pytest.approx(69.0)
    hard, soft = (yield_strength(metal, temper).value for temper in ("H04", "O61"))
    assert hard / soft == pytest.approx(yield_strength(brass, "H04").value / yield_strength(brass, "O61").value)


@pytest.mark.parametrize("said", ["E 17 Msi, yield 10 ksi", "E=17000 ksi; yield=10000 psi", "E 17 Mpsi yield 10 ksi"])
def test_a_metal_in_the_units_of_an_inch_shop(said: str) -> None:
    own = own_metal(said)
    assert own == pytest.approx((117.211e3, 68.948), rel=1e-5)
    assert own_metal(str(uns_of(said))) == pytest.approx(own, rel=1e-5)


@pytest.mark.parametrize("said", ["E 117, yield 69", "E 117 GPa", "E 1170 GPa, yield 69 MPa", "E 117 GPa, yield 9 GPa"])
def test_what_is_no_metal_is_none(said: str) -> None:
    assert own_metal(said) is None and uns_of(said) is None
