"""The card for the lathe: one page, large type, only what is turned, with boxes to tick and to write in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.reporting.pages.back_pages import no_aim, within_skive, without_bare_growth
from springfit.reporting.pages.exported_tables import SHOP_DECIMALS, cells, for_the_hand
from springfit.reporting.pages.paper import PageBuilder, Paper
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import LEAST_MOVE_MM, Units, amount
from springfit.reporting.wording.places import across_words
from springfit.reporting.wording.verdict_wording import unbroken
from springfit.reporting.wording.zones import is_cut, stretches

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.reporting.pages.correction_summary import Summary

__all__ = ["card_paper"]

_TABLE_ROOM = 115.0  # pt that the title, the notes and the head of the table take; as they are drawn
_SIZES = (16.0, 14.0, 12.0, 10.0, 9.0, 8.0)  # pt of the rows; what does not fit in the smallest is thinned
_FLARE_SIZES = 4  # of them for a new flare: a line is turned by fewer rows, read at arm's length
_HEADS = {
    "z": "z", "present_diameter": "\u00d8 now", "diameter": "\u00d8 turn to", "finish_diameter": "\u00d8 finish",
    "do_not_pass_diameter": "\u00d8 never below",
}  # fmt: skip
_TABLE = {True: "sizes of a new flare", False: "cut table"}
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
    foot = [builder.text(summary.one_way, 11.0, bold=True)]
    if len(for_the_hand(correction.cut_table, units)):
        story += [builder.text(words, 11.0, bold=True) for words in _before_turning(correction, units)]
        foot = [builder.text("Date ____________   By ____________   Gauge ____________", 12.0), *foot]
        size, sheet = _rows(correction, units, builder.height - builder.height_of([*story, *foot]) - _TABLE_ROOM)
        story += builder.sheet(sheet, size=size, room=0.18 * size)
    story += foot
    return builder.printed(story, title=f"Card: {summary.title}", foot=summary.footer)[1]


def _before_turning(correction: Correction, units: Units) -> list[str]:
    """What goes for all rows: the unit, where to stay off the steel, how far the bell is to be moved besides."""
    said = [
        f"All sizes in {'inches' if units == 'in' else 'mm'}. \u00d8 are diameters. Stop at the finished rim.",
        unbroken(f"Skive to \u00d8 finish. {no_aim('never below')}"),
        f"Per side is {across_words(correction.stations)}.",
    ]
    cut, slide = is_cut(correction.stations), correction.verdict.slide_mm
    if not cut.any():
        return said
    where = stretches(correction.stations["z_mm"].to_numpy(float), cut, units)
    said.append(f"Cut only {where}: leave the steel elsewhere as it is.")
    if slide >= LEAST_MOVE_MM:
        said.append(unbroken(f"The cut counts on the bell being set {amount(slide, units)} nearer the rim."))
    return said


def _rows(correction: Correction, units: Units, room: float) -> tuple[float, Sheet]:
    """The rows in the largest type that holds them on one page; every second one where even the smallest does not."""
    table = for_the_hand(correction.cut_table, units)
    new, skive = correction.verdict.verdict == "new_flare", within_skive(table)
    table, tail = without_bare_growth(table, correction.cut_table, units) if new else (table, "")
    sizes = _SIZES[:_FLARE_SIZES] if new else _SIZES
    most = int(room / (1.58 * sizes[-1]))
    step = -(-len(table) // most)
    kept = sorted({*range(0, len(table), step), len(table) - 1, int(table["removal_mm"].abs().to_numpy().argmax())})
    names, rows = cells(table.iloc[kept], units, decimals=SHOP_DECIMALS)
    size = next((size for size in sizes if len(rows) * 1.58 * size <= room), sizes[-1])
    left_out = ("present_diameter",) if new else ("diameter",) if skive else ()
    shown = [name for name in _HEADS if name not in left_out]
    columns = [names.index(f"{name}_{units}") for name in shown]
    steep = names.index("read")
    body = tuple(
        (*(row[column] for column in columns), "z" if row[steep] == "z" else "\u00d8", _BOX, _BLANK) for row in rows
    )
    head = (*(_HEADS[name] for name in shown), "check", "done", "found")
    notes = ["Nothing to turn: skive to the finish \u00d8."] if skive and not new else []
    notes += [tail.strip()] if tail else []
    notes += [] if step == 1 else [f"Not every row has room here: all of them are in the report's {_TABLE[new]}."]
    title = "A new flare: its sizes" if new else "Skive only this" if skive else "Turn only this"
    return size, Sheet(title, " ".join(notes), head, body)
