"""The card for the lathe: one page, large type, only what is turned, with boxes to tick and to write in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.reporting.pages.exported_tables import SHOP_DECIMALS, cells, for_the_hand
from springfit.reporting.pages.paper import PageBuilder, Paper
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import Units

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.reporting.pages.correction_summary import Summary

__all__ = ["card_paper"]

_HEAD_ROOM = 240.0  # pt that the head and the foot of the card take; as they are drawn
_SIZES = (16.0, 14.0, 12.0, 10.0, 9.0, 8.0)  # pt of the rows; what does not fit in the smallest is thinned
_BOX, _BLANK = "\u2610", "________"


def card_paper(correction: Correction, summary: Summary, *, units: Units, paper: Paper) -> bytes:
    """The PDF of the card; for a verdict that turns nothing it says so, and what to do."""
    builder = PageBuilder(paper)
    story = [
        builder.text(summary.title, 13.0, bold=True),
        builder.box([builder.text(summary.word, 30.0, bold=True, after=2.0),
                     builder.text(summary.action, 14.0, bold=True, after=0.0)], line=3.0),
        builder.gap(6.0),
    ]  # fmt: skip
    if len(for_the_hand(correction.cut_table, units)):
        unit = "inches" if units == "in" else "mm"
        said = f"All sizes in {unit}. \u00d8 are diameters. Stop at the finished rim."
        story.append(builder.text(said, 11.0, bold=True))
        size, sheet = _rows(correction, units, builder.height - _HEAD_ROOM)
        story += builder.sheet(sheet, size=size, room=0.18 * size)
        story.append(builder.text("Date ____________   By ____________   Gauge ____________", 12.0))
    story.append(builder.text(summary.one_way, 11.0, bold=True))
    return builder.printed(story, title=f"Card: {summary.title}", foot=summary.footer)[1]


def _rows(correction: Correction, units: Units, room: float) -> tuple[float, Sheet]:
    """The rows in the largest type that holds them on one page; every second one where even the smallest does not."""
    table = for_the_hand(correction.cut_table, units)
    most = int(room / (1.58 * _SIZES[-1]))
    step = -(-len(table) // most)
    kept = sorted({*range(0, len(table), step), len(table) - 1, int(table["removal_mm"].abs().to_numpy().argmax())})
    names, rows = cells(table.iloc[kept], units, decimals=SHOP_DECIMALS)
    size = next((size for size in _SIZES if len(rows) * 1.58 * size <= room), _SIZES[-1])
    columns = [names.index(f"{name}_{units}") for name in
               ("z", "present_diameter", "diameter", "finish_diameter", "do_not_pass_diameter")]  # fmt: skip
    steep = names.index("read")
    body = tuple(
        (*(row[column] for column in columns), "z" if row[steep] == "z" else "\u00d8", _BOX, _BLANK) for row in rows
    )
    head = ("z", "\u00d8 now", "\u00d8 turn to", "\u00d8 finish", "\u00d8 never below", "check", "done", "found")
    note = "" if step == 1 else "Not every row has room here: all of them are in the cut table."
    return size, Sheet("Turn only this", note, head, body)
