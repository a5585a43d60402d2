"""Formats and texts of a workbook: which formats show a day, which are struck through, the texts that cells share."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree import ElementTree
from xml.parsers import expat

from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format

from springfit.records.sheets.workbooks.text_runs import Crossed, TextRuns

__all__ = ["CellFormats", "SharedTexts", "formats_in", "shared_texts"]

_MOST_FORMATS = 100_000  # of cells: the format allows 65 490


@dataclass(frozen=True)
class CellFormats:
    """By the number of a cell's format: those that show a day or time, and those that are struck through."""

    days: frozenset[int]
    struck: frozenset[int]


@dataclass(frozen=True)
class SharedTexts:
    """The `texts` that cells share, and by their number those of which something is struck through."""

    texts: list[str]
    crossed: dict[int, Crossed]


def formats_in(styles: bytes) -> CellFormats:
    """What the part `xl/styles.xml` says; nothing when there is none."""
    if not styles:
        return CellFormats(frozenset(), frozenset())
    root = ElementTree.fromstring(styles)
    codes = dict(BUILTIN_FORMATS)
    for element in root.iter():
        if _local(element) == "numFmt" and "numFmtId" in element.attrib:
            codes[int(element.attrib["numFmtId"])] = element.attrib.get("formatCode", "")
    fonts = [font for part in root if _local(part) == "fonts" for font in part]
    struck_fonts = {n for n, font in enumerate(fonts) if any(_is_on(one, "strike") for one in font)}
    formats = [one for part in root if _local(part) == "cellXfs" for one in part][:_MOST_FORMATS]
    days, struck = set(), set()
    for number, one in enumerate(formats):
        if is_date_format(codes.get(int(one.attrib.get("numFmtId", 0)), "General")):
            days.add(number)
        if int(one.attrib.get("fontId", 0)) in struck_fonts:
            struck.add(number)
    return CellFormats(frozenset(days), frozenset(struck))


def shared_texts(part: bytes) -> SharedTexts:
    """The texts of `xl/sharedStrings.xml` in their order."""
    texts: list[str] = []
    crossed: dict[int, Crossed] = {}
    runs = TextRuns()
    inside = [False]

    def start(name: str, attributes: dict[str, str]) -> None:
        local = name.rpartition(":")[2]
        if local == "si":
            runs.clear()
        inside[0] = local == "t"
        runs.start(local, attributes)

    def end(name: str) -> None:
        local = name.rpartition(":")[2]
        inside[0] = False
        runs.end(local)
        if local == "si":
            if said := runs.crossed():
                crossed[len(texts)] = said
            texts.append(runs.text())

    def data(text: str) -> None:
        if inside[0]:
            runs.piece.append(text)

    if part:
        parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartElementHandler, parser.EndElementHandler, parser.CharacterDataHandler = start, end, data
        parser.Parse(part, True)
    return SharedTexts(texts, crossed)


def _local(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def _is_on(element: ElementTree.Element, name: str) -> bool:
    return _local(element) == name and element.attrib.get("val", "1") not in ("0", "false")
