"""The page of a watch on screen: one batch first, then the shop, then every mandrel's own history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from springfit.reporting.pages.html import rendered
from springfit.reporting.watching_pages.watch_summary import WatchSummary

__all__ = ["History", "watch_page"]


@dataclass(frozen=True)
class History:
    """A mandrel's history as the page has it: `picture` an `<svg>` element, `lines` below it."""

    mandrel_id: str
    picture: str
    lines: tuple[str, ...]


def watch_page(summary: WatchSummary, *, multiples: str, chart: str, histories: Sequence[History]) -> str:
    """The page of a watch; `multiples` and `chart` are `<svg>` elements."""
    from markupsafe import Markup

    shown = [History(one.mandrel_id, Markup(one.picture), one.lines) for one in histories]
    return rendered(
        "watch.html", summary=summary, multiples=Markup(multiples), chart=Markup(chart), histories=shown
    )
