"""The building bricks of a printed page: faces, paragraphs, ruled tables, boxes, a foot with page count.

Every text is escaped before reportlab sees it, because its paragraphs read markup.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal
from xml.sax.saxutils import escape

from springfit.reporting.pages.printed_tables import Number, Sheet

__all__ = ["PageBuilder", "Paper"]

Paper = Literal["a4", "letter"]

_MARGIN = 40.0  # pt, 14 mm: what any office printer keeps clear
_FOOT = 18.0  # pt, below the text
_FOOT_SIZE, _COUNT_WIDTH = 8.5, 70.0  # pt
_PLAIN, _BOLD = "DejaVuSans", "DejaVuSans-Bold"
_CELL_SIDE = 3.5  # pt beside the text of a cell: less, and two heads read as one
_SHORT = 20  # rows: a table as short as this is not parted from its title


class PageBuilder:
    """Makes the parts of a page of one paper size and prints them."""

    def __init__(self, paper: Paper) -> None:
        from reportlab.lib.pagesizes import A4, LETTER

        _set_faces()
        self.page_size: tuple[float, float] = {"a4": A4, "letter": LETTER}[paper]
        self.width = self.page_size[0] - 2.0 * _MARGIN
        self.height = self.page_size[1] - 2.0 * _MARGIN - _FOOT

    def text(self, words: str, size: float = 10.0, *, bold: bool = False, after: float = 3.0) -> Any:
        """A paragraph in `size` points; `words` are plain text."""
        from reportlab.lib.styles import ParagraphStyle
        from reportlab.platypus import Paragraph

        face = _BOLD if bold else _PLAIN
        style = ParagraphStyle(
            face, fontName=face, fontSize=size, leading=1.22 * size, spaceAfter=after, splitLongWords=True
        )
        return Paragraph(escape(words), style)

    def heading(self, words: str) -> Any:
        """The title of a part."""
        return self.text(words, 14.0, bold=True, after=4.0)

    def gap(self, points: float) -> Any:
        """Empty height."""
        from reportlab.platypus import Spacer

        return Spacer(self.width, points)

    def box(self, parts: Sequence[Any], *, line: float) -> Any:
        """Parts in a frame of `line` points."""
        rule = [("BOX", (0, 0), (-1, -1), line, "black"), *_padding(9.0, 7.0)]
        return self._table([[list(parts)]], [self.width], rule)

    def ruled(self, rows: Sequence[Sequence[Any]], *, widths: Sequence[float]) -> Any:
        """Rows of parts with a line above and below each; `widths`: shares of the text's width."""
        rule = [("LINEBELOW", (0, 0), (-1, -1), 0.5, "black"), ("LINEABOVE", (0, 0), (-1, 0), 0.5, "black")]
        columns = [share * self.width for share in widths]
        return self._table([list(row) for row in rows], columns, [*rule, *_padding(1.0, 2.5)])

    def numbers(self, numbers: Sequence[Number], *, widths: Sequence[float]) -> Any:
        """The numbers of page one, a ruled row each, the number itself large."""
        large = [
            [self.text(one.label, 10.0, bold=True, after=0.0), self.text(one.value, 13.0, bold=True, after=0.0),
             self.text(one.detail, 9.5, after=0.0)]
            for one in numbers
        ]  # fmt: skip
        return self.ruled(large, widths=widths)

    def sheet(self, sheet: Sheet, *, size: float, room: float) -> list[Any]:
        """A table with its title and note; `room`: points above and below the text of a row."""
        from reportlab.platypus import KeepTogether

        parts = [self.heading(sheet.title)]
        if sheet.note:
            parts.append(self.text(sheet.note, 10.0, after=5.0))
        if not sheet.rows:  # a title is not parted from what stands below it
            return [KeepTogether(parts), self.gap(8.0)]
        headed = any(sheet.head)
        rows = [[self.text(name, size, bold=True, after=0.0) for name in sheet.head]] if headed else []
        widths = _widths(sheet, self.width, size)
        rows += [
            [
                cell if number else self.text(cell, size, after=0.0)
                for cell, number in zip(row, sheet.numeric, strict=True)
            ]
            for row in sheet.rows
        ]
        rule: list[tuple[Any, ...]] = [
            ("FONT", (0, 0), (-1, -1), _PLAIN, size),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, "grey"),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            *_padding(_CELL_SIDE, room),
        ]
        if headed:
            rule.append(("LINEBELOW", (0, 0), (-1, 0), 1.2, "black"))
        top = 1 if headed else 0
        rule += [("LINEBELOW", (0, row), (-1, row), 1.0, "black") for row in (top + one - 1 for one in sheet.heavy)]
        table = self._table(rows, widths, rule, repeat=top)
        if len(rows) <= _SHORT:
            return [KeepTogether([*parts, table]), self.gap(10.0)]
        return [*parts, table, self.gap(10.0)]

    def new_page(self) -> Any:
        """The end of a page."""
        from reportlab.platypus import PageBreak

        return PageBreak()

    def picture(self, png: bytes, *, most_height: float) -> Any:
        """A PNG as wide as the text, or lower if it would be higher than `most_height` points."""
        from reportlab.lib.utils import ImageReader
        from reportlab.platypus import Image

        wide, high = ImageReader(io.BytesIO(png)).getSize()
        scale = min(self.width / wide, most_height / high)
        return Image(io.BytesIO(png), width=scale * wide, height=scale * high, hAlign="CENTER")

    def height_of(self, parts: Sequence[Any]) -> float:
        """Points the parts take one above the other."""
        return sum(part.wrap(self.width, self.height)[1] + part.getSpaceAfter() for part in parts)

    def printed(self, story: list[Any], *, title: str, foot: str) -> tuple[int, bytes]:
        """Number of pages and PDF of the story, with `foot` and the page count under every page."""
        from reportlab.platypus import SimpleDocTemplate, Spacer

        while story and isinstance(story[-1], Spacer):  # which may stand alone on a page
            story = story[:-1]
        page = io.BytesIO()
        paper = SimpleDocTemplate(
            page,
            pagesize=self.page_size,
            leftMargin=_MARGIN - 6.0,
            rightMargin=_MARGIN - 6.0,
            topMargin=_MARGIN - 6.0,
            bottomMargin=_MARGIN + _FOOT - 6.0,  # reportlab pads its frames by 6 pt
            title=title,
            author="springfit",
            invariant=True,
        )
        paper.build(story, canvasmaker=_counting_canvas(_shortened(foot, self.width - _COUNT_WIDTH)))
        return int(paper.page), page.getvalue()

    def _table(
        self, rows: list[list[Any]], widths: list[float], rule: list[tuple[Any, ...]], *, repeat: int = 0
    ) -> Any:
        from reportlab.lib import colors
        from reportlab.platypus import Table

        ink = {"black": colors.black, "grey": colors.grey}
        style = [
            tuple(ink.get(part, part) if isinstance(part, str) else part for part in command)
            for command in rule
        ]
        return Table(rows, colWidths=widths, style=style, repeatRows=repeat, hAlign="LEFT")


def _counting_canvas(foot: str) -> Any:
    """A kind of canvas that holds its pages back until their number is known, and then prints foot and count."""
    from reportlab.pdfgen.canvas import Canvas

    class Counted(Canvas):
        def __init__(self, *arguments: Any, **options: Any) -> None:
            super().__init__(*arguments, **options)
            self.held: list[dict[str, Any]] = []

        def showPage(self) -> None:
            self.held.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, page in enumerate(self.held, start=1):
                self.__dict__.update(page)
                self.setFont(_PLAIN, _FOOT_SIZE)
                self.drawString(_MARGIN, _MARGIN - 4.0, foot)
                right = self._pagesize[0] - _MARGIN
                self.drawRightString(right, _MARGIN - 4.0, f"page {number} of {len(self.held)}")
                super().showPage()
            super().save()

    return Counted


def _padding(side: float, upright: float) -> list[tuple[Any, ...]]:
    whole = ((0, 0), (-1, -1))
    sides = [(name, *whole, side) for name in ("LEFTPADDING", "RIGHTPADDING")]
    return [
        *sides,
        *((name, *whole, upright) for name in ("TOPPADDING", "BOTTOMPADDING")),
        ("VALIGN", *whole, "TOP"),
    ]


def _widths(sheet: Sheet, width: float, size: float) -> list[float]:
    """Column widths that give each column what its longest word needs, the columns of words what is left."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    def wide(cell: str, face: str) -> float:
        return float(stringWidth(cell, face, size)) + 2.0 * _CELL_SIDE + 4.0

    heads = [max(wide(word, _BOLD) for word in (*name.split(), "")) for name in sheet.head]
    whole = [
        max(head, *(wide(row[index], _PLAIN) for row in sheet.rows)) for index, head in enumerate(heads)
    ]
    least = [
        most if number else max(head, *(wide(word, _PLAIN) for row in sheet.rows for word in (*row[index].split(), "")))
        for index, (head, most, number) in enumerate(zip(heads, whole, sheet.numeric, strict=True))
    ]  # fmt: skip
    if sum(whole) <= width or sum(least) >= width:
        return [share * width / sum(whole) for share in whole]
    spare = (width - sum(least)) / (sum(whole) - sum(least))
    return [low + spare * (high - low) for low, high in zip(least, whole, strict=True)]


def _shortened(words: str, width: float) -> str:
    """As much of the foot's words as `width` points hold."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    short = words
    while len(short) > 1 and stringWidth(short, _PLAIN, _FOOT_SIZE) > width:
        short = f"{short[:-2]}…"
    return short


def _set_faces() -> None:
    """Registers the faces that come with matplotlib: free to embed, and with every letter an id may hold."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    for face in (_PLAIN, _BOLD):
        if face not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(face, str(folder / f"{face}.ttf")))
