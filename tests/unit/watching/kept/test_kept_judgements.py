"""Judgements kept by content: they come back as they were, and a changed record has those after it made anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from springfit.geometry.facets.finder import Facet
from springfit.learning.set_aside import (
    AnotherSteel,
    BeyondReach,
    Doubted,
    OneReadingOff,
    SetAside,
    UnlikeItsBatch,
)
from springfit.watching.batches.batch_size import BatchSize
from springfit.watching.batches.local_places import LocalPlaces
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.batches.zone_scores import ZoneScore
from springfit.watching.judged_batches import BellCurve, JudgedBatch
from springfit.watching.kept.judgement_text import Judgement, text_of
from springfit.watching.kept.kept_judgements import KeptJudgements, judgement_keys
from springfit.watching.signatures.naming import Named

ARC = np.linspace(0.0, 0.1, 4)  # tenths, which no finite binary fraction is
FACET = Facet("dish", 1.0, 1.0, 0.06, 0.003, 16.0, 0.02, 4.0, 8.0)
KEY = "a" * 64


def judgement() -> Judgement:
    zone = ZoneScore("b", "rim", 5, 40, 0.1, 0.2, 0.1, 0.05, 2.0, float("nan"), float("nan"), float("nan"), 0.4)
    named = Named(
        "temper", "b", "", -0.3, 0.1, "share", (0.0, 1 / 3), 5.0, ("temper", "warm"), (("warm", 0.2),), "d", "rim"
    )
    curve = BellCurve("b1", ARC, ARC / 3.0, ARC, ARC)
    judged = JudgedBatch(
        "b", "M", 1, "2024-01-02", 9, "v0001", (zone,), (named,), ("b1", "b2"), (curve,),
        LocalPlaces(ARC, ARC, ARC), 99.0, SteelLine(ARC, ARC, (FACET,)),
        BatchSize(-0.1, 0.2, 0.1, 6.0), LocalPlaces(ARC, ARC, ARC),
    )  # fmt: skip
    why = Doubted("why"), AnotherSteel(), UnlikeItsBatch(0.1), BeyondReach(-1 / 3, 0.1), OneReadingOff(0.1, 0.2)
    return Judgement(judged, tuple(SetAside(f"b{number}", "b", one) for number, one in enumerate(why, 3)))


def test_a_judgement_comes_back_as_it_was(tmp_path: Path) -> None:
    kept, one = KeptJudgements(tmp_path), judgement()
    kept.write({KEY: one, "none": Judgement(None, ())})
    back = kept.read(KEY)
    assert back is not None and text_of(back) == text_of(one) and back.set_aside == one.set_aside
    assert back.judged is not None and back.judged.named == (one.judged.named if one.judged else ())
    assert back.judged.facet_places is not None and back.judged.facet_places.sd.tolist() == ARC.tolist()
    assert back.judged.curves[0].gap.tolist() == (ARC / 3.0).tolist()
    assert kept.read("none") == Judgement(None, ())


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"judged": {}, "set_aside": []}', '{"judged": null}',
    '{"judged": null, "set_aside": ["b3"]}', '{"judged": null, "set_aside": [{"bell_id": "b", "reason": "then"}]}',
])  # fmt: skip
def test_a_damaged_one_is_as_good_as_none(tmp_path: Path, text: str) -> None:
    kept = KeptJudgements(tmp_path)
    kept.write({KEY: judgement()})
    next(tmp_path.rglob("*.json")).write_text(text)
    assert kept.read(KEY) is None


def test_a_changed_record_has_those_from_it_on_judged_anew() -> None:
    digests = {"a": "1", "b": "2", "c": "3"}
    keys = judgement_keys(digests, ["a", "b", "c"])
    assert judgement_keys({**digests, "d": "4"}, ["a", "b", "c", "d"]).items() >= keys.items()
    changed = judgement_keys({**digests, "b": "5"}, ["a", "b", "c"])
    assert changed["a"] == keys["a"] and changed["b"] != keys["b"] and changed["c"] != keys["c"]


def test_a_folder_that_cannot_be_written_keeps_none(tmp_path: Path) -> None:
    (tmp_path / "judged").write_text("no folder")
    kept = KeptJudgements(tmp_path)
    kept.write({KEY: replace(judgement(), set_aside=())})
    assert kept.read(KEY) is None
