"""A model of format 4 told as one of format 5: why a bell was set aside was a sentence, in mm; it is kept as words.

The sentence is not taken apart again: its figures were rounded, and a finding of the check stood among them unmarked.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from springfit.learning.set_aside import AsWordedThen, SetAside, plain_of

__all__ = ["FOUR", "facts_of"]

FOUR = 4


def facts_of(told: Mapping[str, Any]) -> dict[str, Any]:
    """What a model of format 4 `told`, as format 5 tells it; KeyError or TypeError where it is no such model."""
    aside = [SetAside(one["bell_id"], one["batch_id"], AsWordedThen(one["reason"])) for one in told["set_aside"]]
    return {**told, "set_aside": [plain_of(one) for one in aside]}
