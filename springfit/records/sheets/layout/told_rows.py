"""What is said of a sheet's rows: faults of cells, rows passed over, a header that cannot be read as it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from springfit.findings import Finding
from springfit.lengths import split_unit
from springfit.records.columns import Table
from springfit.records.sheets.layout.header_words import names_a_column, words_left_out
from springfit.records.sheets.layout.other_units import against_the_columns
from springfit.records.sheets.layout.table_rows import PassedOver, Row, units_against

__all__ = [
    "Fault", "Faults", "drop_again", "header_is_sound", "say_faults", "say_header", "say_passed_over",
    "say_units_against",
]  # fmt: skip

_MOST_OF_A_CAUSE = 3  # cells of a column at fault for one cause that are listed one by one; they show what is wrong
_FEWEST_QUOTED = 3  # letters: less says nothing


@dataclass(frozen=True)
class Fault:
    """What is wrong with one cell as it stands in the file, whatever it may mean; in the columns `but_in` it is not."""

    what: str
    expected: str
    remedy: str
    but_in: tuple[str, ...] = ()


Faults = dict[tuple[int, int], Fault]  # by line and position in the row


def say_header(file: str, row: Row, header: Sequence[str], table: Table, findings: list[Finding]) -> None:
    """A doubt for each column of numbers with words beside its name: `diameter_mm (radius)` may be no diameter."""
    for name, words in words_left_out(row[1], header, table):
        what = f"{words!r} stands beside the column's name and is not read: its numbers are taken for plain {name}"
        remedy = "take the words out if that is what they are, else type the numbers as the name says"
        findings.append(Finding("doubt", file, row[0], name, what, "the name and its unit", remedy))


def say_units_against(file: str, row: Row, header: list[str], table: Table, findings: list[Finding]) -> None:
    """An error for each column that has one unit in the header and another in the row of units below it."""
    for name, unit in units_against(row[1], header, table):
        what, remedy = f"the row of units says {unit!r} below {name}", "take out the one that is wrong"
        findings.append(Finding("error", file, row[0], name, what, "the unit of the column's name", remedy))


def drop_again(file: str, line: int, header: list[str], table: Table, findings: list[Finding]) -> set[int]:
    """Takes the name off columns that are not the table's and stand again (of two remarks the first is kept): where."""
    dropped = set()
    for position, name in enumerate(header):
        if name and name in header[:position] and not names_a_column(name, table):
            header[position] = ""
            dropped.add(position)
            what, remedy = f"the column {name} stands twice; the first is kept", "rename one if both are to be kept"
            findings.append(Finding("note", file, line, name, what, "", remedy))
    return dropped


def header_is_sound(file: str, line: int, header: list[str], findings: list[Finding]) -> bool:
    """Whether every named column stands once; columns without a name are dropped by the caller."""
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if twice:
        what = f"the columns {', '.join(twice)} stand twice" if len(twice) > 1 else "the column stands twice"
        findings.append(Finding("error", file, line, twice[0], what, "each column once", "delete or rename one"))
    return not twice


def say_faults(
    file: str, lines: np.ndarray, header: list[str], faults: Faults, findings: list[Finding], table: Table
) -> frozenset[tuple[int, str]]:
    """An error for each fault in a cell that is read, those cells by line and header; many of one cause in a column as
    one. A note for a column that is not used."""
    read = set(lines.tolist()) if faults else set()
    by_cause: dict[tuple[str, str, str], list[tuple[int, Fault]]] = {}
    for (line, position), fault in faults.items():
        name = header[position] if position < len(header) else ""
        if line in read and name and name not in fault.but_in:
            by_cause.setdefault((name, fault.expected, fault.remedy), []).append((line, fault))
    said: set[tuple[int, str]] = set()
    for (name, expected, remedy), found in by_cause.items():
        used = split_unit(name)[0] in table.by_name or name in table.by_name
        many = len(found) > _MOST_OF_A_CAUSE or not used
        more = f", and so on in {len(found)} cells of the column" if many and len(found) > 1 else ""
        for line, fault in found[:1] if many else found:
            if used:
                findings.append(Finding("error", file, line, name, f"{fault.what}{more}", expected, remedy))
            else:
                findings.append(Finding("note", file, line, name, f"{fault.what}{more}; it is not used", ""))
        said.update((line, name) for line, _ in found if used)
    return frozenset(said)


def say_passed_over(file: str, passed: list[PassedOver], header: list[str], findings: list[Finding]) -> None:
    """A note for rows that are no records; a doubt or an error where they may change what the others mean."""
    for part in passed:
        many = len(part.lines) > 1
        lines = f"rows {part.lines[0]} to {part.lines[-1]}" if many else f"row {part.lines[0]}"
        said = f" ({part.text!r}{', ...' if many else ''})" if len(part.text) >= _FEWEST_QUOTED else ""
        place = (file, part.lines[0], None)
        if part.kind == "another header":
            what = f"{lines} names the columns otherwise than the header{said}: what stands below would be misread"
            remedy = "give the rows below it a sheet of their own, or order them as the header does"
            findings.append(Finding("error", *place, what, "one header, or the same again", remedy))
            continue
        what = f"{lines} {'are' if many else 'is'} not read: {part.kind}{said}"
        if other := against_the_columns(part.units, header):
            what = f"{what}; it speaks of {' and '.join(other)}, and no column is in that"
            remedy = "if the numbers are in that unit put it into the columns' names, else take the words out"
            findings.append(Finding("doubt", *place, what, "the unit of the columns' names", remedy))
        else:
            findings.append(Finding("note", *place, what, ""))
