"""The report of a survey on paper, A4 or Letter, in the order of its page."""

from __future__ import annotations

from typing import Any

from springfit.reporting.pages.paper import PageBuilder, Paper
from springfit.reporting.survey_pages.survey_summary import SurveySummary

__all__ = ["survey_paper"]

_SIZE, _ROOM = 8.5, 1.2  # pt: letters of the tables, and room above and below a row


def survey_paper(summary: SurveySummary, *, picture: bytes, paper: Paper) -> bytes:
    """The PDF of a summary: page one the target and its picture, then what it rests on."""
    builder = PageBuilder(paper)
    above, below = _above(builder, summary), _below(builder, summary)
    room = builder.height - builder.height_of([*above, *below]) - 4.0
    first = [*above, builder.picture(picture, most_height=max(room, 200.0)), *below, builder.new_page()]
    back = [part for sheet in summary.sheets for part in builder.sheet(sheet, size=_SIZE, room=_ROOM)]
    notes = [builder.text(f"· {line}", 9.5) for line in summary.notes]
    limits = [
        builder.text("What this cannot tell", 11.0, bold=True, after=2.0),
        *(builder.text(f"· {line}", 9.5, after=1.0) for line in summary.limits),
    ]
    story = [*first, *limits, builder.gap(8.0), *back, *notes]
    return builder.printed(story, title=summary.title, foot=summary.footer)[1]


def _above(builder: PageBuilder, summary: SurveySummary) -> list[Any]:
    said = [
        builder.text(summary.word, 34.0, bold=True, after=4.0),
        builder.text(summary.action, 13.0, bold=True, after=4.0),
        builder.text(summary.reason, 10.5, after=0.0),
    ]
    return [
        builder.text(summary.title, 14.0, bold=True),
        builder.text(summary.units_line, 10.0, bold=True, after=5.0),
        builder.box(said, line=3.0),
        builder.gap(4.0),
    ]


def _below(builder: PageBuilder, summary: SurveySummary) -> list[Any]:
    return [builder.gap(4.0), builder.numbers(summary.facts, widths=(0.17, 0.2, 0.63))]
