"""What lies in a book's folder and is not read, said aloud: a sheet under an odd name, a text file, a subfolder."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from springfit.findings import Finding
from springfit.lengths import split_unit
from springfit.records.sheets.layout.header_words import header_names, names_a_column
from springfit.records.sheets.table_names import likely_table, table_of
from springfit.records.tables import TABLES

__all__ = ["OWN_FILES", "looks_like", "not_a_table", "stray_findings"]

# What the program itself puts into a book; the form is a blank to be copied.
OWN_FILES = frozenset(
    {"replaced", "form.xlsx", "how-to-fill.txt", "datapackage.json", "book-settings.json", "journal.csv"}
)
_SHEET_LIKE = (".txt", ".tsv", ".tab", ".xlsx", ".xls", ".xlsm", ".xlsb", ".ods", ".numbers")
_FEWEST_NAMED = 3  # columns: two may be named by chance in a list of something else
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
                    what, remedy = "a subfolder with sheets in it", "move them into the book"
                    found.append(_doubt(f"{name}/", what, remedy))
                else:
                    found.append(Finding("note", f"{name}/", None, None, "this folder is not read", ""))
            elif name.lower().endswith(".csv") and not entry.is_file():
                remedy = "put the file itself into the book"
                found.append(_doubt(name, "a name that leads to no file", remedy))
            elif name.lower().endswith(_SHEET_LIKE):
                found.append(_doubt(name, "a file that may hold records", "save each sheet as CSV beside the others, "
                                    "or add it with springfit add"))  # fmt: skip
            elif not name.lower().endswith(".csv"):
                found.append(Finding("note", name, None, None, "this file is not read", ""))
    return found


def looks_like(rows: Iterable[Sequence[str]]) -> str | None:
    """The table whose needed columns one of the rows names, as its header would; None where none does."""
    for row in rows:
        for name, table in TABLES.items():
            named = {split_unit(one)[0] for one in header_names(row, table) if names_a_column(one, table)}
            if len(named) >= _FEWEST_NAMED and {one.name for one in table.columns if one.filled} <= named:
                return name
    return None


def not_a_table(file: str, name: str, rows: Iterable[Sequence[str]] = ()) -> Finding:
    """What is said of a CSV file or a sheet under no table's name: a doubt where its name, or one of its first `rows`,
    is like a table's."""
    meant = likely_table(name) or looks_like(rows)
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
    """Whether a subfolder, or one inside it, has files that look like sheets of a book."""
    inside = (name for _, _, files in os.walk(folder) for name in files)
    names = [name for _, name in zip(range(_MOST_INSIDE), inside, strict=False)]
    return any(
        name.lower().endswith((".csv", *_SHEET_LIKE)) and (table_of(name) or likely_table(name))
        for name in names
    )
