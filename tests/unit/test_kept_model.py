"""Stored models outlive a release: kept ones load and say the same, one of another format is refused by name.

What it said is this program's own (`tests/kept_model.py`): a check that nothing changed unseen, not that it was right.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from kept_model import DATA, NAMED, said_by

from springfit.findings import BookError
from springfit.learning.versions.format_four import FOUR
from springfit.learning.versions.format_three import THREE
from springfit.learning.versions.model_file import FORMAT
from springfit.learning.versions.store import ModelStore
from springfit.reporting.set_aside_wording import set_aside_words

SAME_MM = 1e-4  # a tenth of a micron: no figure on any page is printed so fine
KEPT = sorted(int(folder.name.removeprefix(NAMED)) for folder in DATA.glob(f"{NAMED}*"))


def test_a_model_of_this_format_is_kept() -> None:
    assert FORMAT in KEPT
    assert {THREE, FOUR} <= set(KEPT)


@pytest.mark.parametrize("kept", KEPT)
def test_a_kept_model_loads_and_says_the_same_numbers(kept: int) -> None:
    """Bands are as wide as the program that is asked finds them: what a tail may hold is less since format 4."""
    folder = DATA / f"{NAMED}{kept}"
    same = slice(None) if kept >= FOUR else ["s_mm", "gap_mm"]
    said, before = said_by(ModelStore(folder).load()), pd.read_csv(folder / "forecast.csv")
    pd.testing.assert_frame_equal(said.loc[:, same], before.loc[:, same], rtol=0.0, atol=SAME_MM)


@pytest.mark.parametrize(
    ("found", "said", "remedy"),
    [
        ("springfit model 1", "older", "train again"),  # how 0.1.0 named its format, in another flow stress
        (THREE - 1, "older", "train again"),
        (FORMAT + 1, "newer", "a newer springfit"),
    ],
)
def test_a_kept_model_of_another_format_is_refused_by_name(
    found: object, said: str, remedy: str, tmp_path: Path
) -> None:
    shutil.copytree(DATA / f"{NAMED}{FORMAT}", tmp_path / "store")
    path = tmp_path / "store" / "v0001" / "model.json"
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), "format": found}), encoding="utf-8")
    with pytest.raises(BookError) as refused:
        ModelStore(tmp_path / "store").load()
    (finding,) = refused.value.findings
    assert finding.file == str(path) and repr(found) in finding.what and f"{said} than this program" in finding.what
    assert remedy in f"{finding.expected}; {finding.remedy}"


@pytest.mark.parametrize("kept", [one for one in KEPT if one <= FOUR])
def test_why_a_bell_was_set_aside_is_said_as_it_was_then(kept: int, tmp_path: Path) -> None:
    """Formats before 5 kept a sentence: it loads, is said word for word in any unit, and stands in the next version."""
    shutil.copytree(DATA / f"{NAMED}{kept}", tmp_path / "store")
    path = tmp_path / "store" / "v0001" / "model.json"
    said = "+0.42 mm per side about arc 130 mm, beyond elastic reach: a process fault, no springback"
    old = [{"bell_id": "B1-1", "batch_id": "B1", "reason": said}]
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), "set_aside": old}), encoding="utf-8")
    store = ModelStore(tmp_path / "store")
    (one,) = store.load().set_aside
    assert (one.bell_id, one.batch_id) == ("B1-1", "B1")
    assert set_aside_words(one.why, "mm") == set_aside_words(one.why, "in") == said
    store.save(replace(store.load(), version="v0002"), use=True)
    assert store.load().set_aside == (one,)


@pytest.mark.parametrize("told", [{"reason": "then"}, {"kind": "moonstruck"}, {"kind": "beyond_reach", "size_mm": 0.1}])
def test_what_no_format_says_of_a_bell_set_aside_is_refused_by_name(told: dict[str, object], tmp_path: Path) -> None:
    shutil.copytree(DATA / f"{NAMED}{FORMAT}", tmp_path / "store")
    path = tmp_path / "store" / "v0001" / "model.json"
    wrong = {"set_aside": [{"bell_id": "B1-1", "batch_id": "B1", **told}]}
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), **wrong}), encoding="utf-8")
    with pytest.raises(BookError) as refused:
        ModelStore(tmp_path / "store").load()
    (finding,) = refused.value.findings
    assert finding.file == str(path) and "do not fit" in finding.what
