"""A workbook's archive with some of its parts exchanged, and sheets added: every other part is copied as it is."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping
from xml.etree import ElementTree
from xml.sax.saxutils import quoteattr

from springfit.records.sheets.workbooks.archive import OpenWorkbook, open_workbook

__all__ = ["recomputed", "with_parts", "with_sheet"]

_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_COMPUTED = re.compile(rb"<((?:\w+:)?calcPr)\b(?![^>]*fullCalcOnLoad)")


def with_parts(data: bytes, parts: Mapping[str, bytes]) -> bytes:
    """The workbook with `parts` (name to bytes) in place of those of the same name, new ones after the others."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            new.writestr(info, parts[info.filename] if info.filename in parts else old.read(info))
        for name in parts.keys() - set(old.namelist()):
            new.writestr(name, parts[name])
    return out.getvalue()


def with_sheet(data: bytes, title: str) -> bytes:
    """The workbook with an empty worksheet `title` behind the others. Raises ValueError where that cannot be said."""
    book = open_workbook(data)
    main, relations = book.main, _beside(book.main)
    folder = main.rpartition("/")[0]
    root = ElementTree.fromstring(book.archive.read(main))
    namespace = root.tag[1:].partition("}")[0]
    number = 1
    while f"{folder}/worksheets/sheet{number}.xml" in book.archive.namelist():
        number += 1
    part = f"{folder}/worksheets/sheet{number}.xml"
    sheet_id = 1 + max((int(one.attrib.get("sheetId", 0)) for one in root.iter(f"{{{namespace}}}sheet")), default=0)
    relation = _free_relation(book, relations)
    listed = (
        f'<sheet xmlns="{namespace}" xmlns:parts="{_RELATIONS}" name={quoteattr(title)} sheetId="{sheet_id}" '
        f'parts:id="{relation}"/>'
    )
    target = f'Target="worksheets/sheet{number}.xml" Type="{_RELATIONS}/worksheet" Id="{relation}"'
    package = "http://schemas.openxmlformats.org/package/2006"
    typed = f'<Override xmlns="{package}/content-types" PartName="/{part}" ContentType="{_SHEET_TYPE}"/>'
    types = "[Content_Types].xml"
    return with_parts(data, {
        main: _before_end(book.archive.read(main), "sheets", listed),
        relations: _before_end(book.archive.read(relations), "Relationships",
                               f'<Relationship xmlns="{package}/relationships" {target}/>'),
        types: _before_end(book.archive.read(types), "Types", typed),
        part: f'<worksheet xmlns="{namespace}"><sheetData/></worksheet>'.encode(),
    })  # fmt: skip


def recomputed(book: OpenWorkbook) -> dict[str, bytes]:
    """The part that lists the sheets, told that formulas elsewhere are to be computed again when it is opened."""
    before = book.archive.read(book.main)
    after = _COMPUTED.sub(rb'<\1 fullCalcOnLoad="1"', before)
    return {book.main: after} if after != before else {}


def _beside(main: str) -> str:
    folder, _, name = main.rpartition("/")
    return f"{folder}/_rels/{name}.rels"


def _free_relation(book: OpenWorkbook, relations: str) -> str:
    taken = {one.attrib.get("Id") for one in ElementTree.fromstring(book.archive.read(relations))}
    number = len(taken) + 1
    while f"rId{number}" in taken:
        number += 1
    return f"rId{number}"


def _before_end(data: bytes, element: str, new: str) -> bytes:
    """The XML with `new` as the last thing inside `element`."""
    ends = list(re.finditer(rb"</(?:[\w.-]+:)?" + element.encode() + rb"\s*>", data))
    if not ends:
        raise ValueError(f"no {element} in the workbook")
    at = ends[-1].start()
    return data[:at] + new.encode() + data[at:]
