"""How a batch is spun in the invented shop: every condition known, none blank."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import pandas as pd

__all__ = ["Recipe", "recipe_from"]


@dataclass(frozen=True)
class Recipe:
    """The conditions of one batch, named as the record book names them; lengths [mm], `draw_end_mm` along
    the axis.
    """

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
    """The recipe of a conditions row (any object or mapping with the book's names); what is blank follows
    `habit`.
    """
    got: dict[str, Any] = {}
    for field in fields(Recipe):
        value = (
            conditions.get(field.name)
            if hasattr(conditions, "get")
            else getattr(conditions, field.name, None)
        )
        blank = value == "" if isinstance(value, str) else bool(pd.isna(value))
        got[field.name] = getattr(habit, field.name) if blank else type(getattr(habit, field.name))(value)
    return Recipe(**got)
