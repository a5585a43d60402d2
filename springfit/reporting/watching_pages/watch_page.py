"""The page of a watch on screen: one batch first, then the shop, then every mandrel's own history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from springfit.reporting.pages.html import rendered
from springfit.reporting.watching_pages.watch_summary import WatchSummary

__all__ = ["History", "watch_page"]


@dataclass(frozen=True)
class History:
    """A mandrel's history as the page has it: `picture`, and `narrow` for a telephone, `<svg>` elements, `lines` below
    them."""

    mandrel_id: str
    picture: str
    narrow: str
    lines: tuple[str, ...]


def watch_page(
    summary: WatchSummary, *, multiples: tuple[str, str], chart: tuple[str, str], histories: Sequence[History]
) -> str:
    """The page of a watch; `multiples` and `chart` are `<svg>` elements, wide, and narrow for a telephone."""
    from markupsafe import Markup

    shown = [History(one.mandrel_id, Markup(one.picture), Markup(one.narrow), one.lines) for one in histories]
    return rendered(
        "watch.html", summary=summary, multiples=[*map(Markup, multiples)], chart=[*map(Markup, chart)], histories=shown
    )
