"""The nouns a record book is declared with: a column, a table, a reference from one table to another."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

__all__ = ["Column", "Reference", "Table", "choice_column", "id_column", "length_column", "whole_column"]

Kind = Literal["id", "text", "choice", "length", "number", "whole", "date", "alloy"]


@dataclass(frozen=True)
class Column:
    """One declared column: `filled` ones hold a value in every row, `present` ones may hold blanks.

    `low` and `high` bound what is possible, `usual` what shops write down (mm, or the number's own unit). A blank is
    unknown, but where `blank_stands_for` says the value that leaving it out means.
    """

    name: str
    kind: Kind
    filled: bool = False
    present: bool = False
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    usual: tuple[float, float] | None = None
    pattern: str = ""
    meaning: str = ""
    blank_stands_for: float | None = None

    @property
    def frame_name(self) -> str:
        """Name of the column in a data frame: lengths carry `_mm`."""
        return f"{self.name}_mm" if self.kind == "length" else self.name

    @property
    def numeric(self) -> bool:
        """Whether a cell is a number."""
        return self.kind in ("length", "number", "whole")


@dataclass(frozen=True)
class Table:
    """One declared table; `key` columns together name a row, `required` ones must be in the book."""

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    required: bool = False
    by_name: dict[str, Column] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_name", {column.name: column for column in self.columns})

    def column(self, frame_name: str) -> Column:
        """The column that a data frame calls `frame_name`."""
        return next(column for column in self.columns if column.frame_name == frame_name)


@dataclass(frozen=True)
class Reference:
    """Every row of the table `child` that fills `columns` names a row of `parent`, by columns of the same names."""

    child: str
    columns: tuple[str, ...]
    parent: str


def id_column(name: str, *, filled: bool = False, meaning: str = "") -> Column:
    """A column of names of rows."""
    noun = name.removesuffix("_id")
    return Column(
        name, "id", filled=filled, meaning=meaning or f"the name of the {noun}, the same in every table"
    )


def choice_column(name: str, *choices: str, filled: bool = False, meaning: str = "") -> Column:
    """A column of one word out of a few."""
    return Column(name, "choice", filled=filled, choices=choices, meaning=meaning)


def length_column(
    name: str,
    low: float,
    high: float,
    *,
    filled: bool = False,
    present: bool = False,
    usual: tuple[float, float] | None = None,
    meaning: str = "",
    blank: float | None = None,
) -> Column:
    """A column of lengths, bounds in mm."""
    return Column(
        name, "length", filled=filled, present=present, low=low, high=high, usual=usual, meaning=meaning,
        blank_stands_for=blank,
    )  # fmt: skip


def whole_column(name: str, high: int, *, filled: bool = False, meaning: str = "") -> Column:
    """A column of counts, from 0 to `high`."""
    return Column(name, "whole", filled=filled, low=0, high=high, meaning=meaning)
