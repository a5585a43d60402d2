"""A judgement of one batch as JSON text, and back: plain numbers and words, nothing that can run."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from springfit.geometry.facets.finder import Facet
from springfit.learning.set_aside import SetAside, plain_of, set_aside_of
from springfit.watching.batches.batch_size import BatchSize
from springfit.watching.batches.local_places import LocalPlaces
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.batches.zone_scores import ZoneScore
from springfit.watching.judged_batches import BellCurve, JudgedBatch
from springfit.watching.signatures.naming import Named

__all__ = ["Judgement", "judgement_of", "text_of"]


@dataclass(frozen=True)
class Judgement:
    """A batch `judged` (None where no bell of it can be judged), and what of it was `set_aside`."""

    judged: JudgedBatch | None
    set_aside: tuple[SetAside, ...]


def text_of(judgement: Judgement) -> str:
    """The judgement as JSON; every float comes back as it was."""
    told = {**dataclasses.asdict(judgement), "set_aside": [plain_of(one) for one in judgement.set_aside]}
    return json.dumps(told, default=_plain, ensure_ascii=False)


def judgement_of(text: str) -> Judgement:
    """The judgement of a text. Raises ValueError, KeyError or TypeError for any other text."""
    told = json.loads(text)
    aside = tuple(set_aside_of(one) for one in told["set_aside"])
    return Judgement(None if told["judged"] is None else _judged(told["judged"]), aside)


def _plain(value: Any) -> Any:
    """An array or a number of numpy's as JSON has them."""
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    raise TypeError(f"found {type(value).__name__}, expected plain numbers and words")


def _judged(told: Mapping[str, Any]) -> JudgedBatch:
    size = told["size"]
    return JudgedBatch(**{
        **told,
        "zones": tuple(ZoneScore(**one) for one in told["zones"]),
        "named": tuple(_named(one) for one in told["named"]),
        "bells": tuple(told["bells"]),
        "curves": tuple(BellCurve(**_arrays(one, ("arc", "gap", "expected", "sd"))) for one in told["curves"]),
        "places": _places(told["places"]), "facet_places": _places(told["facet_places"]),
        "steel": SteelLine(**{
            **_arrays(told["steel"], ("arc", "z")), "facets": tuple(Facet(**one) for one in told["steel"]["facets"]),
        }),
        "size": None if size is None else BatchSize(**size),
    })  # fmt: skip


def _places(told: Mapping[str, Any] | None) -> LocalPlaces | None:
    return None if told is None else LocalPlaces(**_arrays(told, ("arc", "size", "sd")))


def _named(told: Mapping[str, Any]) -> Named:
    against = tuple((str(name), float(behind)) for name, behind in told["against"])
    low, high = told["at"]
    return Named(**{**told, "at": (low, high), "group": tuple(told["group"]), "against": against})


def _arrays(told: Mapping[str, Any], names: Sequence[str]) -> dict[str, Any]:
    return {**told, **{name: np.array(told[name], dtype=float) for name in names}}

