"""How a batch is spun in the invented shop: every condition known, none blank."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import partial
from typing import Any

import pandas as pd

__all__ = ["Recipe", "recipe_from"]


@dataclass(frozen=True)
class Recipe:
    """The conditions of one batch, named as the record book names them; lengths [mm]."""

    alloy: str = "C26000"
    temper: str = "OS035"
    lot: str = "none"
    wall_mm: float = 0.5
    anneal: str = "full"
    draw_end_mm: float = 0.0
    draw_ring: str = "nylon"
    passes: int = 3
    back_passes: int = 0
    hump: str = "good"
    bolt_checked: str = "yes"
    tool_nose_mm: float = 9.5
    spindle_rpm: int = 1000
    lubricant: str = "soap"
    spinner: str = "none"
    blank_rim_mm: float = 0.0
    finished_rim_mm: float = 0.0


def recipe_from(conditions: Any, habit: Recipe) -> Recipe:
    """The recipe of a row of conditions, blanks filled by `habit`.

    `conditions` is any mapping or object with the book's names, such as a row of `batches`.
    """
    got: dict[str, Any] = {}
    for field in fields(Recipe):
        usual = getattr(habit, field.name)
        written = conditions.get if hasattr(conditions, "get") else partial(getattr, conditions)
        value = written(field.name, None)
        blank = value == "" if isinstance(value, str) else bool(pd.isna(value))
        got[field.name] = usual if blank else type(usual)(value)
    return Recipe(**got)
