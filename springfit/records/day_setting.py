"""The order in which a shop writes its days, asked once and kept with the book."""

from __future__ import annotations

import json
from pathlib import Path
from typing import cast

from springfit.files import write_file
from springfit.records.sheets.days import DAY_ORDERS, DayOrder

__all__ = ["SETTINGS", "keep_day_order", "kept_day_order"]

SETTINGS = "book-settings.json"
_LARGEST = 65_536  # bytes of a file of settings; ours have some tens


def kept_day_order(book: Path) -> DayOrder:
    """The order kept with the book (a folder or a workbook); "" where none was said, or the file is not ours."""
    try:
        path = _place(book)
        if not path.is_file() or path.stat().st_size > _LARGEST:
            return ""
        said = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return ""
    order = said.get("days") if isinstance(said, dict) else None
    return cast(DayOrder, order) if order in DAY_ORDERS else ""


def keep_day_order(book: Path, order: DayOrder) -> None:
    """Keeps the order with the book. Raises OSError when it cannot be written."""
    if kept_day_order(book) != order:
        write_file(_place(book), json.dumps({"days": order}, indent=1).encode())


def _place(book: Path) -> Path:
    """In the book's folder; beside a workbook, under its name."""
    return book / SETTINGS if book.is_dir() else book.with_name(f"{book.name}.{SETTINGS}")
