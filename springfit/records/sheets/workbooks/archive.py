"""An .xlsx file as an archive: whether it may be unpacked at all, and which part of it is which sheet.

Everything is bounded before it is parsed: what a file says it unpacks to, how tightly it is packed, how many parts and
cells it has. zipfile never gives out more than a part says it holds.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
from dataclasses import dataclass
from xml.etree import ElementTree

__all__ = ["OpenWorkbook", "SheetPart", "TooLarge", "open_workbook"]

_MEGABYTE = 2**20  # bytes
# A sheet of 600 000 readings unpacks to some 220 MB; what is larger is better kept as CSV.
_LARGEST_UNPACKED = 256 * _MEGABYTE
_LARGEST_OTHER = 64 * _MEGABYTE  # of the texts, or of any part that is no sheet; assumed
_LARGEST_RATIO = 200  # unpacked to packed; real sheets reach some tens
_SMALL = _MEGABYTE  # a part below this may pack as tightly as it likes
_MOST_PARTS = 2000  # a workbook has a few for each sheet
_MOST_VALUES = 6_000_000  # of one sheet: 600 000 readings have five
_CHUNK = _MEGABYTE
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


class TooLarge(ValueError):
    """The workbook is not to be unpacked: what was found, what is expected."""

    def __init__(self, what: str, expected: str) -> None:
        super().__init__(what)
        self.what, self.expected = what, expected


@dataclass(frozen=True)
class SheetPart:
    """One worksheet: its title, the part that holds it, whether the workbook hides it."""

    title: str
    part: str
    hidden: bool


@dataclass(frozen=True)
class OpenWorkbook:
    """A workbook that may be read: its archive, the `main` part (it lists the sheets), its sheets in their order, and
    whether days count from 1904."""

    archive: zipfile.ZipFile
    main: str
    sheets: tuple[SheetPart, ...]
    from_1904: bool

    def part(self, name: str) -> bytes:
        """The bytes of a small part; nothing when there is none."""
        return self.archive.read(name) if name in self.archive.namelist() else b""

    def require_few_values(self, sheet: SheetPart) -> None:
        """Raises TooLarge for a sheet of more values than any shop has; counted without parsing."""
        values, tail = 0, b""
        with self.archive.open(sheet.part) as stream:
            while chunk := stream.read(_CHUNK):
                both = tail + chunk
                values += both.count(b"<v>") + both.count(b"<is>")
                tail = both[-3:] if not both.endswith(b">") else b""
                if values > _MOST_VALUES:
                    raise TooLarge(
                        f"the sheet has more than {_MOST_VALUES // 1_000_000} million values",
                        "a sheet of readings",
                    )


def open_workbook(data: bytes) -> OpenWorkbook:
    """The workbook in the bytes. Raises TooLarge, or what zip and XML raise when they are damaged."""
    archive = zipfile.ZipFile(io.BytesIO(data))
    _require_bounds(archive)
    main = _main_part(archive)
    root = ElementTree.fromstring(archive.read(main))
    targets = _targets(archive, main)
    sheets = []
    for one in _named(root, "sheet"):
        target = targets[one.attrib[_RELATION]]
        if target in archive.namelist() and "worksheet" in target:
            sheets.append(
                SheetPart(one.attrib["name"], target, one.attrib.get("state", "visible") != "visible")
            )
    properties = next(iter(_named(root, "workbookPr")), None)
    old = properties is not None and properties.attrib.get("date1904", "0") in ("1", "true")
    return OpenWorkbook(archive, main, tuple(sheets), old)


def _require_bounds(archive: zipfile.ZipFile) -> None:
    parts = archive.infolist()
    unpacked = sum(part.file_size for part in parts)
    tight = any(part.file_size > max(_SMALL, _LARGEST_RATIO * part.compress_size) for part in parts)
    other = max((p.file_size for p in parts if "worksheets/" not in p.filename), default=0)
    if len(parts) > _MOST_PARTS or unpacked > _LARGEST_UNPACKED or other > _LARGEST_OTHER or tight:
        what = f"the workbook would unpack to {unpacked / _MEGABYTE:.0f} MB in {len(parts)} parts"
        raise TooLarge(what, f"at most {_LARGEST_UNPACKED // _MEGABYTE} MB, packed as spreadsheets pack")
    for part in parts:
        if part.filename.endswith((".xml", ".rels")) and _declares_entities(archive, part):
            raise TooLarge("the workbook declares its own XML entities", "plain worksheets")


def _declares_entities(archive: zipfile.ZipFile, part: zipfile.ZipInfo) -> bool:
    """Whether an XML part begins with a document type, which no spreadsheet writes."""
    with archive.open(part) as stream:
        start = stream.read(4096)
    return b"<!DOCTYPE" in start.replace(b"\0", b"") or b"<!ENTITY" in start.replace(b"\0", b"")


def _main_part(archive: zipfile.ZipFile) -> str:
    """Name of the part that lists the sheets, as the archive's list of contents has it."""
    root = ElementTree.fromstring(archive.read("[Content_Types].xml"))
    for one in _named(root, "Override"):
        if one.attrib.get("ContentType", "").endswith(("sheet.main+xml", "sheet.macroEnabled.main+xml")):
            return one.attrib["PartName"].lstrip("/")
    raise ValueError("no workbook in it")


def _targets(archive: zipfile.ZipFile, main: str) -> dict[str, str]:
    """Name of the part behind each relation of the workbook."""
    folder, _, name = main.rpartition("/")
    root = ElementTree.fromstring(archive.read(f"{folder}/_rels/{name}.rels"))
    found = {}
    for relation in _named(root, "Relationship"):
        target = relation.attrib["Target"]
        found[relation.attrib["Id"]] = posixpath.normpath(
            target.lstrip("/") if target.startswith("/") else f"{folder}/{target}"
        )
    return found


def _named(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    """Every element of that local name, whatever its namespace."""
    return [element for element in root.iter() if element.tag.rpartition("}")[2] == name]
