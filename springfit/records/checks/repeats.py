"""Readings that stand more than once: rows typed twice, a sheet in several files, a ring not round."""

from __future__ import annotations

from collections import Counter

import pandas as pd

from springfit.findings import Finding
from springfit.lengths import in_words
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET

__all__ = ["out_of_round", "repeated_rows", "split_sheets"]

_PLACE = [*SHEET, "z_mm", "angle_deg", "gauge_id"]
# Difference of two diameters of one ring: in the demo and the three sample shops 99 of 100 are below 0.13 mm and none
# above 0.40 mm; and so many times the shop's usual difference (their median is 0.013 to 0.024 mm), for one whose bells
# all are somewhat oval. By judgement.
_OVAL_MM = 0.5
_OVAL_TIMES = 6.0
_FEWEST_PASTED = 3  # sheets that repeat in one run of rows; two may be one bell typed twice
_FEWEST_COPIED = 3  # readings of a file: one or two may have been typed twice


def repeated_rows(book: Book) -> list[Finding]:
    """A doubt for every sheet in which the same reading, value and all, stands more than once; one alone for a whole
    file that is a copy, and for rows of several sheets that were pasted twice."""
    readings = book.measurements
    again = readings[readings.duplicated([*_PLACE, "value_mm"])]
    copies = _copies(readings, again)
    again = again[~again["source_file"].isin(copies)]
    block = (pd.Series(again.index, index=again.index).diff() != 1).cumsum()
    sheets = again.groupby(SHEET, sort=False, dropna=False).ngroup().groupby(block).transform("nunique")
    pasted = sheets >= _FEWEST_PASTED
    said = [_whole_file(book, readings[readings["source_file"] == file]) for file in copies]
    said += [_pasted(book, rows) for _, rows in again[pasted].groupby(block[pasted])]
    return said + [
        book.finding(
            "doubt",
            "measurements",
            rows.index[0],
            "value_mm",
            subject=str(key[0]),
            what=f"{len(rows)} readings of bell {key[0]!r} ({', '.join(key[1:])}) repeat earlier rows",
            expected="each reading once",
            remedy="take them out if they were typed twice",
        )
        for key, rows in _groups(again[~pasted], SHEET)
    ]


def _whole_file(book: Book, rows: pd.DataFrame) -> Finding:
    what = f"all {len(rows)} readings of this sheet stand in the book already: it is a copy"
    remedy = "take the copy out of the book"
    return book.finding(
        "doubt", "measurements", rows.index[0], None, what=what, expected="each reading once", remedy=remedy
    )


def _pasted(book: Book, rows: pd.DataFrame) -> Finding:
    what = f"{len(rows)} readings, to row {rows['source_row'].iloc[-1]}, repeat earlier rows one after another"
    remedy = "take them out if they were pasted twice"
    return book.finding(
        "doubt", "measurements", rows.index[0], None, what=what, expected="each reading once", remedy=remedy
    )


def split_sheets(book: Book) -> list[Finding]:
    """A doubt where readings of one bell, taken in one way with one gauge, stand in several files."""
    readings = book.measurements
    if readings["source_file"].nunique() < 2:
        return []
    by = [*SHEET, "gauge_id"]
    again = readings[readings.duplicated([*_PLACE, "value_mm"])]
    single = readings[~readings["source_file"].isin(_copies(readings, again))]
    files = single.drop_duplicates([*by, "source_file"])
    second = files[files.duplicated(by)]
    return [
        book.finding(
            "doubt",
            "measurements",
            rows.index[0],
            "bell_id",
            subject=str(key[0]),
            what=f"readings of bell {key[0]!r} ({', '.join(key[1:])}) stand in several files",
            expected="one sheet a bell, stage, kind and gauge",
            remedy="check that two bells do not share a name",
        )
        for key, rows in _groups(second, by)
    ]


def _copies(readings: pd.DataFrame, again: pd.DataFrame) -> list[str]:
    """Files of which every reading stands in the book before them, as the rows `again` say."""
    of, repeated = (Counter(frame["source_file"]) for frame in (readings, again))
    return [file for file, count in repeated.items() if count == of[file] and count >= _FEWEST_COPIED]


def out_of_round(book: Book, readings: pd.DataFrame) -> list[Finding]:
    """A doubt for each bell with a ring whose diameters differ far more than the shop's others."""
    ring = [*SHEET, "gauge_id", "z_mm"]
    rings = readings[readings["angle_deg"].notna()].groupby(ring, sort=False)["value_mm"]
    differ = rings.transform("max") - rings.transform("min")
    usual = float(differ[differ > 0].median()) if (differ > 0).any() else 0.0
    oval = differ.index[differ > max(_OVAL_MM, _OVAL_TIMES * usual)]
    findings = []
    for bell, rows in readings.loc[oval].groupby("bell_id"):
        worst = int(differ[rows.index].to_numpy().argmax())
        findings.append(
            book.finding(
                "doubt",
                "measurements",
                rows.index[worst],
                "value_mm",
                subject=str(bell),
                what=f"bell {bell!r}: diameters of one ring differ by "
                f"{in_words(round(float(differ[rows.index].max()), 2), book.units)}",
                expected=f"about {in_words(round(usual, 2), book.units)}, as on other bells",
                remedy="check the readings; a bell as oval as this is not a body of revolution",
            )
        )
    return findings


def _groups(frame: pd.DataFrame, by: list[str]) -> list[tuple[tuple[str, ...], pd.DataFrame]]:
    """Groups with their keys as tuples of text."""
    return [(tuple(str(part) for part in key), rows) for key, rows in frame.groupby(by, sort=False)]
