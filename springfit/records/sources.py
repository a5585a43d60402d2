"""The files of a record book: which file of a folder is which table, read at one moment."""

from __future__ import annotations

from pathlib import Path

from springfit.findings import BookError, Finding
from springfit.records.sheets import LARGEST_SHEET
from springfit.records.tables import TABLES

__all__ = ["table_files", "table_of"]


def table_of(file: str) -> str | None:
    """The table that a file name belongs to: `bells.csv` and `bells-may.csv` are `bells`; else None."""
    stem, mark, suffix = file.lower().rpartition(".")
    if not mark or suffix != "csv":
        return None
    return next((name for name in TABLES if stem == name or stem.startswith(f"{name}-")), None)


def table_files(path: Path) -> tuple[list[tuple[str, str, bytes]], list[Finding]]:
    """(table, file name, bytes) of every table file in the folder `path`; notes about other CSV files.

    Raises BookError when there is no folder to read.
    """
    if not path.is_dir():
        raise BookError([_not_a_folder(path)])
    findings: list[Finding] = []
    files = []
    for entry in sorted(path.iterdir()):
        name = entry.name
        if name.startswith((".", "~$")) or not entry.is_file():
            continue
        table = table_of(name)
        if table is None:
            if name.lower().endswith(".csv"):
                findings.append(
                    Finding(
                        "note",
                        name,
                        None,
                        None,
                        "the file is not a table of a record book; it is not read",
                        f"{', '.join(TABLES)}, each alone or with -anything",
                    )
                )
            continue
        if entry.stat().st_size > LARGEST_SHEET:
            size = f"{entry.stat().st_size / 2**20:.0f} MB"
            findings.append(
                Finding(
                    "error",
                    name,
                    None,
                    None,
                    f"the file has {size}",
                    f"at most {LARGEST_SHEET // 2**20} MB",
                    "split it, or take it out of the book: no sheet of readings is as large",
                )
            )
            continue
        files.append((table, name, entry.read_bytes()))
    return files, findings


def _not_a_folder(path: Path) -> Finding:
    if not path.exists():
        return Finding(
            "error",
            str(path),
            None,
            None,
            "there is no such folder",
            "a record book",
            "start one with springfit new",
        )
    return Finding(
        "error",
        str(path),
        None,
        None,
        "a workbook is not read yet"
        if path.suffix.lower() == ".xlsx"
        else "this is a file, not a record book",
        "a folder of CSV files",
    )
