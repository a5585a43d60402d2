"""The report of a correction on paper: the summary of the page, on two to four sheets of A4 or Letter."""

from __future__ import annotations

from typing import Any

from springfit.reporting.pages.correction_summary import Summary
from springfit.reporting.pages.paper import PageBuilder, Paper

__all__ = ["correction_paper"]

_LEAST_PICTURE = 190.0  # pt high: below this its lettering is too small at arm's length
_MOST_LIMITS = 6  # that a page holds
_MOST_PAGES = 4  # what is read at a lathe; assumed
_TITLE_ROOM = 75.0  # pt a table's title, note and head take
_CUT_SIZES = (  # size, room [pt], pages it may fill: the first that fits, from what is read at arm's length down
    (11.0, 2.6, 1),
    (10.0, 1.8, 1),
    (9.0, 1.2, 1),
    (10.0, 1.8, 2),
    (9.0, 1.4, 2),
    (8.0, 1.0, 2),
    (7.5, 0.6, 2),
)
_BACK_SIZES = ((9.5, 1.8, True), (8.5, 1.2, True))  # size, room, with the table of errors
_SMALLEST_BACK = (8.0, 0.9, False)  # where neither fits: no smaller is printed


def correction_paper(summary: Summary, *, picture: bytes, paper: Paper) -> bytes:
    """The PDF of a summary: page one the verdict, page two the cut, page three what it rests on.

    picture: a PNG as wide as the text; paper: "a4" or "letter". The back is set a little smaller where that
    saves a page. What would make a fifth page is set smaller still, without the table of errors, which is in
    a file as well.
    """
    usual, closer = (_printed(summary, picture, paper, *back) for back in _BACK_SIZES)
    pages, data = closer if closer[0] < usual[0] else usual
    return data if pages <= _MOST_PAGES else _printed(summary, picture, paper, *_SMALLEST_BACK)[1]


def _printed(
    summary: Summary, picture: bytes, paper: Paper, size: float, room: float, errors: bool
) -> tuple[int, bytes]:
    """Number of pages and PDF with the back in `size` and `room`, with or without the table of errors."""
    builder = PageBuilder(paper)
    first, left_over = _first_page(builder, summary, picture)
    tables = summary.tables
    shown = (tables.as_cut, tables.bells, tables.errors if errors else None, tables.facets, tables.evidence)
    back = [sheet for sheet in shown if sheet is not None and (sheet.rows or sheet.note)]
    story = [
        *first,
        builder.new_page(),
        *_cut_pages(builder, summary, size + 1.0, room + 1.2),
        *_since(builder, summary, size),
        *(part for sheet in back for part in builder.sheet(sheet, size=size, room=room)),
        *(builder.text(f"· {line}", size) for line in (*left_over, *summary.notes)),
    ]
    return builder.printed(story, title=summary.title, foot=summary.footer)


def _since(builder: PageBuilder, summary: Summary, size: float) -> list[Any]:
    """What would settle a verdict that waits, and what changed since the report before, where there are any."""
    parts: list[Any] = []
    titled = (("What would settle it, in order of worth", summary.settling), ("Since the last report", summary.changes))
    for title, lines in titled:
        if lines:
            parts += [builder.heading(title), *(builder.text(line, size + 0.5) for line in lines), builder.gap(8.0)]
    return parts


def _cut_pages(builder: PageBuilder, summary: Summary, by_hand: float, by_hand_room: float) -> list[Any]:
    """The cut table, and the inspection sheet below it or, where it has no room there, on the next page; one line when
    nothing is cut."""
    rows = len(summary.tables.cut_table.rows)
    if not rows:
        return builder.sheet(summary.tables.cut_table, size=9.5, room=2.0)
    for size, room, pages in _CUT_SIZES:
        if rows * (1.2 * size + 2.0 * room) <= pages * (builder.height - _TITLE_ROOM):
            break
    inspection = builder.sheet(summary.tables.inspection, size=by_hand, room=by_hand_room)
    high = rows * (1.2 * size + 2.0 * room) + len(summary.tables.inspection.rows) * (1.2 * by_hand + 2.0 * by_hand_room)
    parting = [] if high <= builder.height - 2.0 * _TITLE_ROOM else [builder.new_page()]
    return [*builder.sheet(summary.tables.cut_table, size=size, room=room), *parting, *inspection]


def _first_page(builder: PageBuilder, summary: Summary, picture: bytes) -> tuple[list[Any], tuple[str, ...]]:
    """The parts of page one, and the limits there was no room for."""
    count = min(len(summary.limits), _MOST_LIMITS)
    while True:
        above, below = _above(builder, summary), _below(builder, summary, count)
        room = builder.height - builder.height_of([*above, *below]) - 2.0
        if room >= _LEAST_PICTURE or count == 1:
            shown = builder.picture(picture, most_height=max(room, 0.6 * _LEAST_PICTURE))
            return [*above, shown, *below], summary.limits[count:]
        count -= 1


def _above(builder: PageBuilder, summary: Summary) -> list[Any]:
    verdict = [
        builder.text(summary.word, 34.0, bold=True, after=4.0),
        builder.text(summary.action, 15.0, bold=True, after=4.0),
        builder.text(summary.reason, 10.5, after=0.0),
    ]
    return [
        builder.text(summary.title, 14.0, bold=True),
        builder.text(summary.units_line, 10.5, bold=True, after=5.0),
        builder.box(verdict, line=3.0),
        builder.gap(4.0),
    ]


def _below(builder: PageBuilder, summary: Summary, limits: int) -> list[Any]:
    more = " More on the last page." if limits < len(summary.limits) else ""
    return [
        builder.numbers(summary.numbers, widths=(0.215, 0.215, 0.57)),
        builder.gap(5.0),
        builder.text(f"What this cannot tell.{more}", 11.0, bold=True, after=2.0),
        *(builder.text(f"· {line}", 9.5, after=1.0) for line in summary.limits[:limits]),
        builder.gap(4.0),
        builder.box([builder.text(summary.one_way, 11.0, bold=True, after=0.0)], line=1.5),
        builder.gap(4.0),
        builder.text(summary.cautions, 9.0, after=0.0),
    ]
