"""Stored models outlive a release: kept ones load and say the same, one of another format is refused by name.

What it said is this program's own (`kept_model`): a check that nothing changed unseen, not that it was right.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pandas as pd
import pytest

from springfit.findings import BookError
from springfit.learning.versions.model_file import FORMAT
from springfit.learning.versions.store import ModelStore
from tests.helpers.programs.kept_model import DATA, NAMED, said_by

SAME_MM = 1e-4  # a tenth of a micron: no figure on any page is printed so fine
KEPT = sorted(int(folder.name.removeprefix(NAMED)) for folder in DATA.glob(f"{NAMED}*"))


def test_a_model_of_this_format_is_kept() -> None:
    assert FORMAT in KEPT


@pytest.mark.parametrize("kept", KEPT)
def test_a_kept_model_loads_and_says_the_same_numbers(kept: int) -> None:
    folder = DATA / f"{NAMED}{kept}"
    said, before = said_by(ModelStore(folder).load()), pd.read_csv(folder / "forecast.csv")
    pd.testing.assert_frame_equal(said, before, rtol=0.0, atol=SAME_MM)


@pytest.mark.parametrize(
    ("found", "said", "remedy"),
    [
        ("springfit model 1", "older", "train again"),  # how 0.1.0 named its format, in another flow stress
        (FORMAT - 1, "older", "train again"),  # its laid columns were worked out in other steps
        (FORMAT + 1, "newer", "use the newer springfit"),
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


@pytest.mark.parametrize("found", [None, True, 7.0, "7", [7]])
def test_what_is_no_format_is_no_model(found: object, tmp_path: Path) -> None:
    shutil.copytree(DATA / f"{NAMED}{FORMAT}", tmp_path / "store")
    path = tmp_path / "store" / "v0001" / "model.json"
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), "format": found}), encoding="utf-8")
    with pytest.raises(BookError, match="this is no springfit model: its format is"):
        ModelStore(tmp_path / "store").load()


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
