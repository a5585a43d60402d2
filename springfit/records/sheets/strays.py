"""What lies in a book's folder and is not read, said aloud: a sheet under an odd name, a text file, a subfolder."""

from __future__ import annotations

import os
from pathlib import Path

from springfit.findings import Finding
from springfit.records.sheets.table_names import likely_table, table_of
from springfit.records.tables import TABLES

__all__ = ["OWN_FILES", "not_a_table", "stray_findings"]

# What the program itself puts into a book; the form is a blank to be copied.
OWN_FILES = frozenset(
    {"replaced", "form.xlsx", "how-to-fill.txt", "datapackage.json", "book-settings.json", "journal.csv"}
)
_SHEET_LIKE = (".txt", ".tsv", ".tab", ".xlsx", ".xls", ".xlsm", ".ods", ".numbers")
# Entries of a subfolder that are looked at; a bound on time: a folder of pictures is told by its first
_MOST_INSIDE = 200


def stray_findings(folder: Path) -> list[Finding]:
    """A doubt for everything in the folder that may hold records and is not read; a note for other files."""
    found = []
    with os.scandir(folder) as entries:
        for entry in sorted(entries, key=lambda one: one.name):
            name = entry.name
            if name in OWN_FILES or name.startswith((".", "~$")):
                continue
            if entry.is_dir():
                if _holds_sheets(Path(entry.path)):
                    found.append(
                        _doubt(f"{name}/", "a subfolder with sheets in it", "move them into the book")
                    )
            elif name.lower().endswith(_SHEET_LIKE):
                found.append(_doubt(name, "a file that may hold records", "save each sheet as CSV beside the others, "
                                    "or add it with springfit add"))  # fmt: skip
            elif not name.lower().endswith(".csv"):
                found.append(Finding("note", name, None, None, "this file is not read", ""))
    return found


def not_a_table(file: str, name: str) -> Finding:
    """What is said of a CSV file or a sheet under no table's name: a doubt where one may have been meant."""
    meant = likely_table(name)
    if meant is None:
        what = "this is not a table of a record book; it is not read"
        names = f"{', '.join(TABLES)}, each alone or followed by -anything"
        return Finding("note", file, None, None, what, names)
    what = "this is not read: it is under no table's name"
    return Finding(
        "doubt", file, None, None, what, f"{meant} or {meant}-anything", f"rename it if it holds {meant}"
    )


def _doubt(name: str, what: str, remedy: str) -> Finding:
    return Finding(
        "doubt", name, None, None, f"{what}: it is not read", "CSV files in the book's folder", remedy
    )


def _holds_sheets(folder: Path) -> bool:
    """Whether a subfolder has files that look like sheets of a book."""
    try:
        names = [entry.name for _, entry in zip(range(_MOST_INSIDE), os.scandir(folder), strict=False)]
    except OSError:
        return False
    return any(
        name.lower().endswith((".csv", *_SHEET_LIKE)) and (table_of(name) or likely_table(name))
        for name in names
    )
