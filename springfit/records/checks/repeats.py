"""Readings that stand more than once: rows typed twice, a sheet in several files, a ring not round."""

from __future__ import annotations

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


def repeated_rows(book: Book) -> list[Finding]:
    """A doubt for every sheet in which the same reading, value and all, stands more than once."""
    readings = book.measurements
    again = readings[readings.duplicated([*_PLACE, "value_mm"])]
    return [
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
        for key, rows in _groups(again, SHEET)
    ]


def split_sheets(book: Book) -> list[Finding]:
    """A doubt where readings of one bell, taken in one way with one gauge, stand in several files."""
    readings = book.measurements
    if readings["source_file"].nunique() < 2:
        return []
    by = [*SHEET, "gauge_id"]
    files = readings.drop_duplicates([*by, "source_file"])
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
