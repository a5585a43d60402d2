"""One batch of a watch on one page of paper, A4 or Letter, in the order of its page."""

from __future__ import annotations

from typing import Any

from springfit.reporting.pages.paper import PageBuilder, Paper
from springfit.reporting.watching_pages.watch_summary import WatchSummary

__all__ = ["watch_paper"]

_MOST_FAULTS, _MOST_DOUBTS = 2, 3  # that one page holds; the page on screen has them all
_LEAST_PICTURE = 90.0  # pt high: below it a frame is not read


def watch_paper(summary: WatchSummary, *, multiples: bytes, chart: bytes, paper: Paper) -> bytes:
    """The PDF of a summary, one page: state, zones, bells, chart, findings."""
    builder = PageBuilder(paper)
    above, below = _above(builder, summary), _below(builder, summary)
    room = builder.height - builder.height_of([*above, *below]) - 6.0
    most = max(0.62 * room, _LEAST_PICTURE)
    pictures = [
        builder.picture(multiples, most_height=most),
        builder.picture(chart, most_height=max(room - most, _LEAST_PICTURE)),
    ]
    return builder.printed([*above, *pictures, *below], title=summary.title, foot=summary.footer)[1]


def _above(builder: PageBuilder, summary: WatchSummary) -> list[Any]:
    said = [
        builder.text(summary.word, 26.0, bold=True, after=3.0),
        builder.text(summary.action, 11.5, bold=True, after=2.0),
        builder.text(summary.reason, 8.5, after=0.0),
    ]
    zones = [
        [builder.text(one.label, 9.0, bold=True, after=0.0), builder.text(one.value, 10.0, bold=True, after=0.0),
         builder.text(one.detail, 7.5, after=0.0)]
        for one in summary.zones
    ]  # fmt: skip
    rows = [builder.ruled(zones, widths=(0.1, 0.12, 0.78))] if zones else []
    rows += [builder.text(summary.size, 8.0, after=0.0)] if summary.size else []
    return [
        builder.text(summary.title, 12.0, bold=True),
        builder.text(summary.units_line, 8.0, after=3.0),
        builder.box(said, line=3.0), builder.gap(3.0), *rows, builder.gap(3.0),
    ]  # fmt: skip


def _below(builder: PageBuilder, summary: WatchSummary) -> list[Any]:
    parts = [builder.gap(2.0), builder.text("What was found in it", 10.0, bold=True, after=1.0)]
    for fault in summary.faults[:_MOST_FAULTS]:
        said = f"{fault.where}. For it: {fault.speaks_for}. Against: {fault.against}. Settle it: {fault.settle}."
        parts += [builder.text(fault.title, 8.5, bold=True, after=0.0), builder.text(said, 8.0, after=2.0)]
    if not summary.faults:
        parts.append(builder.text("No fault that the readings bear out.", 8.5, after=2.0))
    if len(summary.faults) > _MOST_FAULTS:
        parts.append(builder.text(f"… and {len(summary.faults) - _MOST_FAULTS} more in watch.html", 8.0))
    parts += [builder.text(line, 8.0, after=1.0) for line in summary.wear[:2]]
    if summary.doubts:
        count = f"{len(summary.doubts)} lines on doubtful readings of the book stand in watch.html."
        parts.append(builder.text(count, 8.0, after=0.0))
    return parts
