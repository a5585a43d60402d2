"""Tables on their way out: units, rounding, formulas that stay data, all files or none."""

from __future__ import annotations

import io
import json

import numpy as np
import pandas as pd
import pytest

from springfit.reporting.pages.exported_tables import (
    DATA_DECIMALS,
    SHOP_DECIMALS,
    cells,
    csv_bytes,
    json_bytes,
)


def read_back(data: bytes) -> pd.DataFrame:
    return pd.read_csv(io.BytesIO(data))


@pytest.mark.parametrize(("units", "last_digit_mm"), [("mm", 1e-4), ("in", 25.4e-5)])
def test_a_table_read_back_is_the_table_to_its_last_digit(units, last_digit_mm):
    rng = np.random.default_rng(3)
    frame = pd.DataFrame({"z_mm": np.sort(rng.uniform(0, 430, 50)), "error_mm": rng.normal(0, 0.1, 50)})
    back = read_back(csv_bytes(frame, units, decimals=DATA_DECIMALS))
    assert list(back.columns) == [f"z_{units}", f"error_{units}"]
    scale = {"mm": 1.0, "in": 25.4}[units]
    assert np.max(np.abs(back.to_numpy() * scale - frame.to_numpy())) <= 0.5001 * last_digit_mm


def test_the_unit_of_a_column_in_inches_is_kept_right():
    frame = pd.DataFrame({"wall_in": [1.0]})
    assert csv_bytes(frame, "mm", decimals=SHOP_DECIMALS) == b"wall_mm\n25.400\n"


@pytest.mark.parametrize("text", ["=1+1", "+A1", "-2", "@SUM(A1)", "\t=1", "\r=1"])
def test_a_text_a_spreadsheet_would_run_stays_data(text):
    frame = pd.DataFrame({"name": [text], "gap_mm": [-0.25]})
    back = read_back(csv_bytes(frame, "mm", decimals=DATA_DECIMALS))
    assert back["name"][0].startswith("'")
    assert back["gap_mm"][0] == -0.25  # a negative number is a number


def test_commas_quotes_and_line_ends_in_a_name_come_back():
    names = ["a,b", 'say "so"', "two\r\nlines", "žluť"]
    back = read_back(csv_bytes(pd.DataFrame({"name": names}), "mm", decimals=DATA_DECIMALS))
    assert list(back["name"]) == ["a,b", 'say "so"', "two  lines", "žluť"]  # a row is a line


def test_what_is_not_known_is_blank_and_never_minus_nought():
    frame = pd.DataFrame({"gap_mm": [np.nan, -1e-9], "masked": [True, False], "kind": [None, "crease"]})
    assert (
        csv_bytes(frame, "mm", decimals=DATA_DECIMALS) == b"gap_mm,masked,kind\n,true,\n0.0000,false,crease\n"
    )


def test_counts_keep_their_kind():
    _, rows = cells(
        pd.DataFrame({"step": [1], "share": [0.5], "back": [np.int64(2)]}), "in", decimals=SHOP_DECIMALS
    )
    assert rows == [["1", "0.5", "2"]]


def test_json_turns_lengths_and_has_no_bare_nan():
    facts = {
        "slide_mm": 25.4,
        "largest_cut_at_mm": np.nan,
        "more_batches": np.int64(3),
        "chance": {"before": 0.5},
    }
    back = json.loads(json_bytes(facts, "in"))
    assert back == {"slide_in": 1.0, "largest_cut_at_in": None, "more_batches": 3, "chance": {"before": 0.5}}
