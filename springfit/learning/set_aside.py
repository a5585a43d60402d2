"""What nothing was learned from, and why: a fact for each way a bell or a stretch of one is left out, and no sentence.

Lengths [mm]; what is said of them, and in which unit, is reporting's. A fact is kept under its kind, in a model's JSON
and beside the watch's judgements.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

__all__ = [
    "AnotherSteel", "BeyondReach", "Doubted", "OneReadingOff", "SetAside", "UnlikeItsBatch",
    "WhySetAside", "plain_of", "set_aside_of",
]  # fmt: skip


@dataclass(frozen=True)
class Doubted:
    """The check of the book doubts the bell; `words` as the check said them, in the unit of the book."""

    words: str


@dataclass(frozen=True)
class AnotherSteel:
    """Most of the bell stands beyond elastic reach at any seat: it is of another steel than the one written."""


@dataclass(frozen=True)
class UnlikeItsBatch:
    """Nothing explains the bell as one of its batch; rms_mm: how far it is off."""

    rms_mm: float


@dataclass(frozen=True)
class BeyondReach:
    """A stretch that elastic release cannot make: size_mm per side, + outward, about arc_mm from the tail."""

    size_mm: float
    arc_mm: float


@dataclass(frozen=True)
class OneReadingOff:
    """One reading and no more stands size_mm per side, + outward, off the rest of its bell, at arc_mm from the tail."""

    size_mm: float
    arc_mm: float


WhySetAside = Doubted | AnotherSteel | UnlikeItsBatch | BeyondReach | OneReadingOff

_KINDS: Mapping[str, type[WhySetAside]] = {
    "doubted": Doubted, "another_steel": AnotherSteel, "unlike_its_batch": UnlikeItsBatch,
    "beyond_reach": BeyondReach, "one_reading_off": OneReadingOff,
}  # fmt: skip
_KIND_OF = {kind: name for name, kind in _KINDS.items()}


@dataclass(frozen=True)
class SetAside:
    """One bell, or a stretch of one, that nothing is learned from."""

    bell_id: str
    batch_id: str
    why: WhySetAside


def plain_of(one: SetAside) -> dict[str, Any]:
    """The fact as JSON has it: bell, batch, the kind of `why`, and its own figures or words."""
    names = {"bell_id": one.bell_id, "batch_id": one.batch_id, "kind": _KIND_OF[type(one.why)]}
    return {**names, **dataclasses.asdict(one.why)}


def set_aside_of(told: Mapping[str, Any]) -> SetAside:
    """The fact that `plain_of` told; KeyError or TypeError for anything else."""
    rest = {name: told[name] for name in told if name not in ("bell_id", "batch_id", "kind")}
    return SetAside(told["bell_id"], told["batch_id"], _KINDS[told["kind"]](**rest))
