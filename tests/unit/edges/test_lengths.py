"""Typed lengths: every way an inch is written, and every cell that must be refused."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from springfit.lengths import INCH_PATTERN, from_mm, in_thousandths, parse_length, parse_number, split_unit


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("2.5", "mm", 2.5),
        (" 0.0157 ", "in", 0.0157 * 25.4),
        ("19.7", "thou", 19.7 * 0.0254),
        ("2-3/8", "in", 2.375 * 25.4),
        ("2 3/8", "in", 2.375 * 25.4),
        ("2 - 3/8", "in", 2.375 * 25.4),
        ('2-3/8"', "in", 2.375 * 25.4),
        ("3/8", "in", 0.375 * 25.4),
        ("-3/64", "in", -3 / 64 * 25.4),
        ("-.5", "mm", -0.5),
        ("1e-3", "mm", 0.001),
    ],
)
def test_what_a_cell_means(text: str, unit: str, mm: float) -> None:
    assert parse_length(text, unit) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("2-3/8", "mm"),
        ("3/8", "thou"),
        ("2-9/8", "in"),
        ("1/7", "in"),
        ("1/0", "in"),
        ("2,375", "in"),
        ("1,234.5", "mm"),
        ("12 mm", "in"),
        ("12mm", "mm"),
        ('12"', "mm"),
        ("", "mm"),
        ("nan", "mm"),
        ("inf", "mm"),
        ("1_000", "mm"),
        ("1e999", "mm"),
        ("0x10", "mm"),
        ("٣", "mm"),
        ("2⅜", "in"),
        ("1.2.3", "mm"),
        ("--1", "mm"),
        ("=1+1", "mm"),
    ],
)
def test_refused(text: str, unit: str) -> None:
    with pytest.raises(ValueError) as caught:
        parse_length(text, unit)
    assert repr(text.strip().removesuffix('"')).strip("'") in str(caught.value)


def test_decimal_comma_only_when_asked() -> None:
    assert parse_number("12,5", decimal_comma=True) == 12.5
    for text in ("1.234,5", "1,234,5"):
        with pytest.raises(ValueError, match="single decimal comma"):
            parse_number(text, decimal_comma=True)
    with pytest.raises(ValueError, match="decimal comma"):
        parse_number("12,5")


def test_columns_and_back() -> None:
    assert split_unit("finished_rim_in") == ("finished_rim", "in")
    assert split_unit("value_thou") == ("value", "thou")
    assert split_unit("angle_deg") == ("angle_deg", None)
    assert split_unit("in_force_from") == ("in_force_from", None)
    assert split_unit("_mm") == ("_mm", None)
    assert from_mm(25.4, "in") == 1.0
    with pytest.raises(KeyError):
        parse_length("1", "cm")


PART = st.sampled_from(["2", "3/8", "-", " ", ".5", "1e3", '"', "+", "16", "/", "7", ",", "x"])


@given(st.lists(PART, min_size=1, max_size=6).map("".join))
def test_the_pattern_of_inch_cells_knows_what_is_read(text: str) -> None:
    """All that is read fits; what fits is read, but for a whole number before a fraction of one or more."""
    cell = text.strip()
    fits = re.fullmatch(INCH_PATTERN, cell) is not None
    try:
        parse_length(cell, "in")
    except ValueError as wrong:
        assert not fits or "fraction of one or more" in str(wrong) or "too large" in str(wrong)
    else:
        assert fits


@pytest.mark.parametrize(
    ("mm", "units", "sign", "said"),
    [
        (0.0254, "in", "", "1.0 thou"), (-0.0127, "in", "+", "-0.5 thou"),
        (0.0254, "mm", "+", "+0.025 mm"), (0.05, "mm", "", "0.050 mm"),
    ],
)  # fmt: skip
def test_small_differences_to_a_thousandth(mm: float, units: str, sign: str, said: str) -> None:
    assert in_thousandths(mm, units, sign=sign) == said
