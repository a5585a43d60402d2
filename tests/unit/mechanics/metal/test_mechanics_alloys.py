"""The alloy table: complete, ordered, sourced, and clear when asked for what it has not got."""

from __future__ import annotations

import pytest

from springfit.mechanics.metal.alloy_table import OFFSET, UNDER_LOAD, read_alloys
from springfit.mechanics.metal.alloys import UnknownAlloyError, alloy, yield_strength
from springfit.mechanics.metal.tempers import grain_factor, normal_temper, rolling_strain

PROMISED = ["C26000", "C26800", "C27000", "C27200", "C23000", "C22000", "C22600", "C75200", "C77000"]


@pytest.mark.parametrize("uns", PROMISED)
def test_every_promised_alloy_is_there_with_sources_and_ranges(uns: str) -> None:
    metal = alloy(uns)
    assert metal.youngs_low <= metal.youngs_modulus <= metal.youngs_high
    assert metal.youngs_low > 90_000 and metal.youngs_high < 135_000
    assert 0.3 <= metal.poisson_ratio <= 0.36 and 8.2 < metal.density < 9.0
    assert metal.en_equivalent and len(metal.source) > 15
    for row in metal.tempers:
        assert row.definition in (OFFSET, UNDER_LOAD) and len(row.source) > 15
        assert row.yield_low <= row.yield_strength <= row.yield_high
        assert row.ultimate_low <= row.ultimate <= row.ultimate_high
        assert row.yield_strength < row.ultimate


@pytest.mark.parametrize("uns", PROMISED)
@pytest.mark.parametrize("definition", [OFFSET, UNDER_LOAD])
def test_yield_never_falls_with_rolling(uns: str, definition: str) -> None:
    rolled = [row for row in alloy(uns).rows(definition) if not row.temper.startswith("OS")]
    strains = [rolling_strain(row.temper) for row in rolled]
    yields = [row.yield_strength for row in rolled]
    assert strains == sorted(strains) and yields == sorted(yields)


def test_definitions_are_kept_apart() -> None:
    brass = alloy("C26000")
    assert yield_strength(brass, "H04").value == 495
    assert yield_strength(brass, "H04").definition == OFFSET
    assert yield_strength(brass, "H04", definition=UNDER_LOAD).value == 414
    assert alloy("C75200").definition == UNDER_LOAD
    with pytest.raises(ValueError, match=r"definition: found 'offset 0\.2 %'.*C75200"):
        yield_strength(alloy("C75200"), "H02", definition=OFFSET)


def test_an_unknown_temper_spans_annealed_to_hardest() -> None:
    unknown = yield_strength(alloy("C26000"), None)
    assert unknown.low == 115 and unknown.high == 677
    assert unknown.low < unknown.value < unknown.high


def test_a_temper_between_rows_lies_between_them() -> None:
    red = alloy("C23000")
    assert (
        yield_strength(red, "O60").value < yield_strength(red, "H02").value < yield_strength(red, "H04").value
    )
    assert yield_strength(red, "H08").value == yield_strength(red, "H04").value


def test_finer_grain_is_stronger_and_follows_the_tabulated_grains() -> None:
    brass = alloy("C26000")
    table = {row.temper: row.yield_strength for row in brass.rows(UNDER_LOAD) if row.temper.startswith("OS")}
    for temper, value in table.items():
        ratio = grain_factor(float(temper[2:]) / 1000) / grain_factor(0.025)
        assert ratio == pytest.approx(value / table["OS025"], rel=0.03)
    assert yield_strength(brass, "OS015").value > yield_strength(brass, "OS070").value


def test_alloys_answer_to_en_numbers_and_small_letters() -> None:
    assert alloy("cw505l") is alloy(" c26000 ")


def test_an_unknown_alloy_is_told_what_is_known() -> None:
    with pytest.raises(UnknownAlloyError, match="found 'C99999', expected one of C26000") as caught:
        alloy("C99999")
    assert isinstance(caught.value, KeyError)
    assert all(uns in str(caught.value) for uns in read_alloys())


@pytest.mark.parametrize(
    ("written", "read"), [("h02", "H02"), ("O60", "annealed"), ("os035", "OS035"), ("O", "annealed")]
)
def test_tempers_are_read_as_written(written: str, read: str) -> None:
    assert normal_temper(written) == read


@pytest.mark.parametrize("wrong", ["H5", "soft", "OS35x", "R350"])
def test_what_is_no_temper_is_named(wrong: str) -> None:
    with pytest.raises(ValueError, match=f"temper: found '{wrong}'"):
        normal_temper(wrong)
