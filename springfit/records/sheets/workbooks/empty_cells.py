"""The XML of a worksheet without its empty formatted cells and rows, which say only where they stand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import IO

__all__ = ["without_empty_cells"]

_CHUNK = 2**18  # bytes read at once; any size will do
_EMPTY_CELL = re.compile(rb'<c r="[A-Z]{1,3}\d{1,7}"[^<>]*/>')
_EMPTY_ROW = re.compile(rb'<row r="\d{1,7}"[^<>]*(?:/>|></row>)')


def without_empty_cells(stream: IO[bytes]) -> Iterator[bytes]:
    """The sheet's XML without cells and rows that have a format and nothing in them, but say where they stand.

    Taken out a chunk at a time, for the parser calls us back at each: a million such rows would cost it ten seconds.
    """
    rest, plain = b"", True
    while chunk := stream.read(_CHUNK):
        data = rest + chunk
        plain = plain and b"<!" not in data  # in a comment or a quoted part they would be no elements
        end = data.rfind(b">") + 1 if plain else len(data)
        if len(data) - end > _CHUNK:
            end = len(data)
        rest = data[end:]
        yield _EMPTY_ROW.sub(b"", _EMPTY_CELL.sub(b"", data[:end])) if plain else data[:end]
    yield rest
