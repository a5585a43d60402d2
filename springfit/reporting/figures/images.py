"""A figure as the bytes a page needs: bare SVG to stand inside HTML, or PNG for paper."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["as_png", "as_svg"]

_LEAVE_OUT = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<metadata>.*?</metadata>|<!--.*?-->", re.DOTALL)
_NAMESPACES = re.compile(r"\sxmlns(:\w+)?=\"[^\"]*\"")
_SIZE = re.compile(r"(<svg[^>]*?)\swidth=\"[^\"]*\"", re.DOTALL)
_HEIGHT = re.compile(r"(<svg[^>]*?)\sheight=\"[^\"]*\"", re.DOTALL)


def as_svg(figure: Figure, *, name: str) -> str:
    """The figure as an `<svg>` element to stand in an HTML page: letters as outlines, nothing fetched from
    anywhere.

    `name` keeps the ids of several pictures in one page apart; it must be letters only.
    """
    import matplotlib

    page = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": "path", "svg.hashsalt": f"springfit {name}"}):
        figure.savefig(
            page, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None}
        )
    text = _NAMESPACES.sub("", _LEAVE_OUT.sub("", page.getvalue())).replace("xlink:href", "href")
    text = _HEIGHT.sub(r"\1", _SIZE.sub(r"\1", text))  # the page's style sets the size, the viewBox the shape
    text = re.sub(r"\bid=\"", f'id="{name}-', text)
    text = re.sub(r"(href=\"#|url\(#)", rf"\1{name}-", text)
    return text.strip()


def as_png(figure: Figure, *, dots_per_inch: int) -> bytes:
    """The figure as a grey PNG for paper."""
    from PIL import Image

    page, grey = io.BytesIO(), io.BytesIO()
    figure.savefig(page, format="png", dpi=dots_per_inch, facecolor="white")
    Image.open(page).convert("L").save(grey, format="PNG", optimize=True)
    return grey.getvalue()
