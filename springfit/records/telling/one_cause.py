"""Findings as a person wants to hear them: one sentence for a cause, not one for every row or cell that it touches."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from springfit.findings import Finding

__all__ = ["told_by_cause"]

_MOST_OF_A_KIND = 25  # doubts and notes of one kind in one column that are listed one by one; a screenful
_MOST_OF_A_CAUSE = 5  # errors of one kind: more of them have one cause, and one sentence is enough
_MOST_ALIKE = 3  # errors word for word alike that are listed one by one; they show what is wrong
_FEWEST_OF_A_ROW = 3  # cells at fault in one row: it is a remark, a heading or a half-filled form, and no record
_MOST_QUOTED = 2  # of those cells that are told one by one; what a line holds


def told_by_cause(findings: Iterable[Finding], header_rows: Mapping[str, int]) -> tuple[Finding, ...]:
    """Errors, doubts, notes, each cause once: of a row that is no record one error, of what is alike in many rows the
    first with their number. `header_rows`: the line of each file's header."""
    order = {"error": 0, "doubt": 1, "note": 2}
    kept = _of_a_kind(_alike(_by_row(list(findings), header_rows)))
    return tuple(sorted(kept, key=lambda f: (order[f.grade], f.file, f.row or 0)))


def _by_row(findings: list[Finding], header_rows: Mapping[str, int]) -> list[Finding]:
    """One error for each row below the header with several cells at fault."""
    rows: dict[tuple[str, int], list[Finding]] = {}
    for finding in findings:
        if finding.grade == "error" and finding.row is not None and finding.column is not None:
            rows.setdefault((finding.file, finding.row), []).append(finding)
    whole = {
        place: found for place, found in rows.items()
        if len({one.column for one in found}) >= _FEWEST_OF_A_ROW
        and place[1] > header_rows.get(place[0], place[1])
    }  # fmt: skip
    first = {id(found[0]): found for found in whole.values()}
    others = {id(one) for found in whole.values() for one in found[1:]}
    return [_no_record(first[id(f)]) if id(f) in first else f for f in findings if id(f) not in others]


def _no_record(found: list[Finding]) -> Finding:
    """One error for what stands in the row; what is blank in it comes last."""
    told = sorted(found, key=lambda one: one.what.endswith(" is blank"))
    quoted = "; ".join(
        one.what if (one.column or "") in one.what else f"{one.what} ({one.column})" for one in told[:_MOST_QUOTED]
    )
    what = f"the row is no record: {quoted}; and {len(found) - _MOST_QUOTED} more of its cells"
    remedy = "take the row out, or fill it in; a remark may stand alone in a row"
    return replace(told[0], what=what, expected="a record of the table", remedy=remedy)


def _alike(findings: list[Finding]) -> list[Finding]:
    """Errors that say the same of many rows of a column, as one with their number."""
    same: dict[tuple[str, str | None, str, str, str], list[Finding]] = {}
    for f in findings:
        if f.grade == "error" and f.row is not None:
            same.setdefault((f.file, f.column, f.what, f.expected, f.remedy), []).append(f)
    many = {id(found[0]): found for found in same.values() if len(found) > _MOST_ALIKE}
    others = {id(one) for found in many.values() for one in found[1:]}
    return [_with_number(many[id(f)]) if id(f) in many else f for f in findings if id(f) not in others]


def _with_number(found: list[Finding]) -> Finding:
    last = max(one.row or 0 for one in found)
    return replace(found[0], what=f"{found[0].what}, and so on in {len(found)} rows, the last at row {last}")


def _of_a_kind(findings: list[Finding]) -> list[Finding]:
    """Past the first like ones in a column only their number."""
    seen: dict[tuple[str, str, str | None, str], list[Finding]] = {}
    for finding in findings:
        seen.setdefault((finding.grade, finding.file, finding.column, finding.expected), []).append(finding)
    kept: list[Finding] = []
    for (_, file, column, expected), alike in seen.items():
        # A doubt that sets a bell aside is never folded: its subject is used.
        most = _MOST_OF_A_CAUSE if alike[0].grade == "error" else _MOST_OF_A_KIND
        short = [f for n, f in enumerate(alike) if n < most or f.sets_aside or f.sets_row_aside]
        kept += short
        if len(alike) > len(short):
            last = alike[-1]
            what = f"and {len(alike) - len(short)} more like these, the last at row {last.row}"
            kept.append(Finding(last.grade, file, last.row, column, what, expected))
    return kept
