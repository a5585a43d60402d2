"""One row for every judgement about the input: where it is, what was found, what was expected, what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

__all__ = ["BookError", "Finding", "Grade", "only_errors"]

Grade = Literal["error", "doubt", "note"]


@dataclass(frozen=True)
class Finding:
    """One judgement about one place in the input.

    `grade`: an *error* stops the work; a *doubt* does not but is shown with every result; a *note* informs.
    `row` is the line of the file, the header being 1 (None: the whole file); `column` None is the whole row.
    `subject` is the bell, batch, mandrel ... spoken of; with `sets_aside` that bell is left out of training,
    with `sets_row_aside` the reading or size in that row alone; what `stops` has to be answered before steel is cut.
    """

    grade: Grade
    file: str
    row: int | None
    column: str | None
    what: str
    expected: str
    remedy: str = ""
    subject: str = ""
    sets_aside: bool = False
    sets_row_aside: bool = False
    stops: bool = False

    def place(self) -> str:
        """`file:row:column`, with the parts that are not known left out from the right."""
        row = "" if self.row is None else f":{self.row}"
        column = "" if self.column is None else (f":{self.column}" if row else f"::{self.column}")
        return f"{_one_line(self.file)}{row}{_one_line(column)}"

    def line(self) -> str:
        """The finding on one line: `file:row:column: what, expected ..., remedy`."""
        said = [self.what, f"expected {self.expected}" if self.expected else "", self.remedy]
        return f"{self.place()}: {_one_line(', '.join(part for part in said if part))}"


class BookError(Exception):
    """The input cannot be used; `.findings` has every problem of the same pass, notes and doubts included."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings: tuple[Finding, ...] = tuple(findings)
        super().__init__("\n".join(finding.line() for finding in self.findings))


def only_errors(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings of grade error, in their order."""
    return tuple(finding for finding in findings if finding.grade == "error")


def _one_line(text: str) -> str:
    """`text` without control characters, so that a cell can neither break a line nor steer a terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)
