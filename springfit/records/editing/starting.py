"""An empty record book: each table with its header, a page on how to fill it, a form with drop-down lists, and what
the files may hold in an open standard."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from springfit.files import write_folder
from springfit.findings import BookError, Finding
from springfit.lengths import from_mm
from springfit.records.columns import Column, Table
from springfit.records.editing.cell_writing import csv_lines, header_in, workbook_bytes
from springfit.records.editing.data_package import PACKAGE, package_bytes
from springfit.records.sheets.sheet import Sheet
from springfit.records.tables import TABLES

__all__ = ["FORM", "GUIDE", "new_book"]

FORM = "form.xlsx"
GUIDE = "how-to-fill.txt"
_FORM_ROWS = 2000  # that the drop-down lists reach down to; more than a form is filled with by hand


def new_book(folder: str | Path, *, units: Literal["mm", "in"] = "mm") -> Path:
    """Makes `folder` an empty book whose length columns are in `units`; BookError if there is anything in it.

    The folder appears whole or not at all.
    """
    path = Path(folder)
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise _refused(path, "there is something there already", "choose a new folder")
    sheets = [(name, Sheet(f"{name}.csv", tuple(header_in(table, units)))) for name, table in TABLES.items()]
    contents = {sheet.file: csv_lines([sheet.header]) for _, sheet in sheets}
    contents |= {
        GUIDE: _guide(units).encode("utf-8"),
        FORM: workbook_bytes(_form(units)),
        PACKAGE: package_bytes(sheets),
    }
    try:
        write_folder(contents, path)
    except OSError as failed:
        what = f"the folder cannot be made ({failed.strerror or failed})"
        raise _refused(path, what, "choose a place where you may write") from None
    return path


def _refused(path: Path, what: str, remedy: str) -> BookError:
    return BookError([Finding("error", str(path), None, None, what, "a new or empty folder", remedy)])


def _form(units: str) -> Workbook:
    """A workbook with a sheet a table: headers, what they mean, drop-down lists where there are choices."""
    workbook = Workbook()
    workbook.remove(workbook.active)
    # The sheets of a day's work come first, those that are filled once a mandrel last.
    daily = ("batches", "bells", "measurements")
    for name in (*daily, *(name for name in TABLES if name not in daily)):
        _form_sheet(workbook.create_sheet(name), TABLES[name], units)
    return workbook


def _form_sheet(sheet: Worksheet, table: Table, units: str) -> None:
    names = zip(table.columns, header_in(table, units), strict=True)
    for number, (column, header) in enumerate(names, start=1):
        cell = sheet.cell(1, number, header)
        cell.font = Font(bold=True)
        if column.filled:
            cell.fill = PatternFill("solid", fgColor="FFF2CC")
        said = _meaning(column)
        if said:
            cell.comment = Comment(said, "springfit")
        letter = get_column_letter(number)
        sheet.column_dimensions[letter].width = max(11, len(header) + 2)
        if not column.numeric or (column.kind == "length" and units == "in"):
            # Text, so that neither a fraction nor a name is turned into a date.
            sheet.column_dimensions[letter].number_format = "@"
        rule = _rule(column, units, letter)
        if rule is not None:
            sheet.add_data_validation(rule)
            rule.add(f"{letter}2:{letter}{_FORM_ROWS}")
    sheet.freeze_panes = "A2"


def _rule(column: Column, units: str, letter: str) -> DataValidation | None:
    """What the sheet itself checks in the column of that `letter`: one of the choices, a number in its range. A
    fraction is let through."""
    if column.choices:
        listed = f'"{",".join(column.choices)}"'
        rule = DataValidation(type="list", formula1=listed, allow_blank=True, showErrorMessage=True)
        rule.error = f"one of: {', '.join(column.choices)}"
        return rule
    if column.low is None or column.high is None:
        return None
    if column.kind == "length" and units == "in":
        return _inches_between(from_mm(column.low, "in"), from_mm(column.high, "in"), letter)
    kind = "whole" if column.kind == "whole" else "decimal"
    low, high = f"{column.low:.6g}", f"{column.high:.6g}"
    rule = DataValidation(
        type=kind, operator="between", formula1=low, formula2=high, allow_blank=True, showErrorMessage=True
    )
    rule.error = f"a number from {low} to {high}"
    return rule


def _inches_between(low: float, high: float, letter: str) -> DataValidation:
    """A rule for cells of text, an inch mark behind the number or none. It warns and may be passed over: where numbers
    are written with a comma the sheet cannot tell what 0.020 is."""
    number = f'VALUE(SUBSTITUTE({letter}2,CHAR(34),""))'
    formula = f'IFERROR(OR(ISNUMBER(FIND("/",{letter}2)),AND({number}>={low:.4g},{number}<={high:.4g})),FALSE)'
    rule = DataValidation(type="custom", formula1=formula, allow_blank=True, showErrorMessage=True)
    rule.errorStyle = "warning"
    rule.error = f"a number from {low:.4g} to {high:.4g}, or a fraction such as 2-3/8"
    return rule


def _meaning(column: Column, *, starred: bool = False) -> str:
    """What the column is for, in a sentence, and what may stand in it."""
    parts = ["must be filled" if column.filled and not starred else "", column.meaning]
    if column.choices:
        parts.append(" / ".join(column.choices))
    if column.kind == "date":
        parts.append("year-month-day")
    return "; ".join(part for part in parts if part)


def _guide(units: str) -> str:
    """How to fill the book, and what each column is for."""
    lines = [_GUIDE.format(units={"mm": "mm", "in": "inches"}[units], form=FORM)]
    for table in TABLES.values():
        lines.append(f"{table.name}\n")
        for column, header in zip(table.columns, header_in(table, units), strict=True):
            lines.append(f"  {header}{'*' if column.filled else ''}: {_meaning(column, starred=True)}\n")
        lines.append("\n")
    return "".join(lines)


_GUIDE = """HOW TO FILL THIS RECORD BOOK

Lengths here are in {units}: the unit stands in the column's name (_mm, _in, _thou). Another
file of the same table, say measurements-trace.csv, may use another unit. Fractions (2-3/8)
are read in _in columns. Days are written year-month-day. A blank means not known; it is
never taken as none, nor as the mean. Columns marked * must be filled in every row.

Diameters are diameters; everything else is per side. z runs along the axis from the tail,
z = 0, to the rim; from the datum 'rim' it counts back toward the tail. Say how each reading
was taken: kind (which surface), datum (what z = 0 was tied to), stage (spun, trimmed,
beaded, buffed), gauge. None of these is ever guessed. A gauge needs its row in gauges: how well it
repeats if you know it, else what kind it is (dial caliper, feeler leaves ...), and the usual
figure of that kind is taken and told so.

1. Once a mandrel: a row in mandrels (revision 0), and its stations from the tail to the
   blank's rim in mandrel_profile. Every recut, polish, plating or new measurement of the
   steel is a new revision, with its own day and stations.
2. Once a target: a row in targets, and its inside diameters in target_profile.
3. Every batch: fill a copy of {form} (batches, bells, measurements), then
      springfit add BOOK COPY --dry-run     shows what would change
      springfit add BOOK COPY               adds it, all or nothing
   With --like B012, what is left blank in the batch is taken from batch B012: type the
   batch_id and the day, change what was different, and measure.
4. A slip that is in the book already: correct it in the sheet it came from and
      springfit add BOOK SHEET --replace    puts the new values in place of the old
   (an empty cell empties the book's; leave out the columns that are to stay)
   springfit undo BOOK takes the last addition back; springfit show BOOK shows what is there.
5. springfit check BOOK lists every problem, with file, row and column.

The files as they were before each addition are kept in the folder 'replaced'.

WHAT EACH COLUMN IS FOR

"""
