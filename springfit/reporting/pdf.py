"""The report of a correction on paper: the summary of the page, on two to four sheets of A4 or Letter."""

from __future__ import annotations

from typing import Any

from springfit.reporting.paper import Paper, Press
from springfit.reporting.summary import Summary

__all__ = ["correction_paper"]

_LEAST_PICTURE = 190.0  # pt high: below this its lettering is too small at arm's length
_MOST_LIMITS = 6
_LONG_TABLE = 38  # rows that fit on one page at the larger size


def correction_paper(summary: Summary, *, picture: bytes, paper: Paper) -> bytes:
    """The PDF of a summary: page one the verdict, page two the cut, page three what it rests on.

    picture: a PNG as wide as the text; paper: "a4" or "letter".
    """
    from reportlab.platypus import PageBreak

    press = Press(paper)
    first, left_over = _first_page(press, summary, picture)
    long = len(summary.cut_table.rows) > _LONG_TABLE
    story = [
        *first,
        PageBreak(),
        *press.sheet(summary.cut_table, size=9.0 if long else 11.0, room=1.6 if long else 2.6),
        PageBreak(),
        *press.sheet(summary.inspection, size=10.5, room=3.2),
        *press.sheet(summary.facets, size=9.5, room=2.0),
        *press.sheet(summary.evidence, size=9.5, room=2.0),
        *(press.text(f"· {line}", 9.5) for line in (*left_over, *summary.notes)),
    ]
    return press.printed(story, title=summary.title, foot=summary.footer)


def _first_page(press: Press, summary: Summary, picture: bytes) -> tuple[list[Any], tuple[str, ...]]:
    """The parts of page one, and the limits there was no room for."""
    count = min(len(summary.limits), _MOST_LIMITS)
    while True:
        above, below = _above(press, summary), _below(press, summary, count)
        room = press.height - press.height_of([*above, *below]) - 2.0
        if room >= _LEAST_PICTURE or count == 1:
            shown = press.picture(picture, most_height=max(room, 0.6 * _LEAST_PICTURE))
            return [*above, shown, *below], summary.limits[count:]
        count -= 1


def _above(press: Press, summary: Summary) -> list[Any]:
    verdict = [
        press.text(summary.word, 34.0, bold=True, after=4.0),
        press.text(summary.action, 15.0, bold=True, after=4.0),
        press.text(summary.reason, 10.5, after=0.0),
    ]
    return [
        press.text(summary.title, 14.0, bold=True),
        press.text(summary.units_line, 10.5, bold=True, after=5.0),
        press.box(verdict, line=3.0),
        press.gap(4.0),
    ]


def _below(press: Press, summary: Summary, limits: int) -> list[Any]:
    numbers = [
        [
            press.text(number.label, 10.0, bold=True, after=0.0),
            press.text(number.value, 13.0, bold=True, after=0.0),
            press.text(number.detail, 9.5, after=0.0),
        ]
        for number in summary.numbers
    ]
    more = " More on the last page." if limits < len(summary.limits) else ""
    return [
        press.ruled(numbers, widths=(0.235, 0.185, 0.58)),
        press.gap(5.0),
        press.text(f"What this cannot tell.{more}", 11.0, bold=True, after=2.0),
        *(press.text(f"· {line}", 9.5, after=1.0) for line in summary.limits[:limits]),
        press.gap(4.0),
        press.box([press.text(summary.one_way, 11.0, bold=True, after=0.0)], line=1.5),
        press.gap(4.0),
        press.text(summary.cautions, 9.0, after=0.0),
    ]
