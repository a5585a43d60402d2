"""Reads a printed page back as boxes of words, so that a test can see what overlaps or leaves the page."""

from __future__ import annotations

from itertools import combinations
from typing import Any, NamedTuple

from pypdf import PageObject
from reportlab.pdfbase.pdfmetrics import stringWidth

MARGIN = 30.0  # pt: no office printer needs more


class Box(NamedTuple):
    """Words and where they stand [pt]: left, foot, right, head."""

    words: str
    left: float
    foot: float
    right: float
    head: float


def line_boxes(page: PageObject) -> list[Box]:
    """Every piece of text of a page, by the width of its own face."""
    found: list[Box] = []

    def visit(
        text: str, page_at: list[float], line_at: list[float], face: dict[str, Any] | None, size: float
    ) -> None:
        words = text.strip()
        if words and face:
            name = "DejaVuSans-Bold" if "Bold" in str(face["/BaseFont"]) else "DejaVuSans"
            left = line_at[4] * page_at[0] + line_at[5] * page_at[2] + page_at[4]
            foot = line_at[4] * page_at[1] + line_at[5] * page_at[3] + page_at[5]
            found.append(Box(words, left, foot, left + stringWidth(words, name, size), foot + 0.72 * size))

    page.extract_text(visitor_text=visit)
    return found


def off_the_page(boxes: list[Box], size: tuple[float, float]) -> list[str]:
    """Words that stand in the margin or past it."""
    wide, high = size
    return [
        box.words
        for box in boxes
        if box.left < MARGIN or box.right > wide - MARGIN or box.foot < MARGIN or box.head > high - MARGIN
    ]


def clashes(boxes: list[Box]) -> list[tuple[str, str]]:
    """Pairs of words that share more than half a point both ways."""
    return [
        (one.words, two.words)
        for one, two in combinations(boxes, 2)
        if min(one.right, two.right) - max(one.left, two.left) > 0.5
        and min(one.head, two.head) - max(one.foot, two.foot) > 0.5
    ]
