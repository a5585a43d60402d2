"""Sheets that can be typed but hardly be true: each is doubted by name, a bell that would mislead set aside.

The names of the cases are the table: `pytest -v` on this file prints it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from springfit.records import read_book
from tests.helpers.books.small_book import ASH, OAK, Sheets, change, outside, sheets, write
from tests.helpers.books.spoilers import B, M, P, Spoil, cell, header, second_column


def readings_of(bell: str, new: Callable[[float, float], float]) -> Spoil:
    """Changes the outside diameters of a bell, given z and value."""

    def spoil(book: Sheets) -> None:
        for row in book[M][1:]:
            if row[0] == bell and row[2] == "outside_diameter" and row[3] == "tail":
                row[5] = f"{new(float(row[4]), float(row[5])):.4f}"

    return spoil


def as_kind(bell: str, kind: str) -> Spoil:
    return lambda book: change(
        book[M], "kind", lambda _: kind, where={"bell_id": bell, "kind": "outside_diameter"}
    )


def as_datum(bell: str, datum: str, new_z: Callable[[float], float], scale: float = 1.0) -> Spoil:
    def spoil(book: Sheets) -> None:
        for row in book[M][1:]:
            if row[0] == bell and row[2] == "outside_diameter":
                row[3], row[4] = datum, f"{new_z(float(row[4])):.3f}"
                row[5] = f"{float(row[5]) * scale:.4f}"

    return spoil


def inches_in(bell: str, column: str) -> Spoil:
    """An inch file for one bell in which one column was typed in mm."""

    def spoil(book: Sheets) -> None:
        rows = book[M]
        book["measurements-inch.csv"] = [[name.replace("_mm", "_in") for name in rows[0]]]
        for row in [row for row in rows[1:] if row[0] == bell]:
            rows.remove(row)
            for place in (4, 5):
                if rows[0][place] != column or row[2] != "outside_diameter":
                    row[place] = f"{float(row[place]) / 25.4:.5f}"
            book["measurements-inch.csv"].append(row)

    return spoil


def copied(book: Sheets) -> None:
    values = [row[5] for row in book[M][1:] if row[0] == "B1-1" and row[2] == "outside_diameter"]
    for row, value in zip(
        [row for row in book[M] if row[0] == "B1-2" and row[6] == "0"], values, strict=False
    ):
        row[5] = value


SET_ASIDE: dict[str, tuple[Spoil, str, str]] = {
    "radius for diameter": (readings_of("B1-2", lambda z, v: v / 2), "B1-2", "the radius was typed"),
    "diameter doubled": (readings_of("B1-2", lambda z, v: v * 2), "B1-2", "the diameter was doubled"),
    "inches in a mm column": (
        readings_of("B1-2", lambda z, v: v / 25.4),
        "B1-2",
        "inches were typed in a mm",
    ),
    "mm in an inch column": (
        inches_in("B1-2", "value_mm"),
        "B1-2",
        "millimetres were typed in an inch column",
    ),
    "thou in a mm column": (readings_of("B1-2", lambda z, v: v / 25.4 * 10), "B1-2", "no known mistake"),
    "point a place too far right": (readings_of("B1-2", lambda z, v: v * 10), "B1-2", "too far right"),
    "outside typed as inside": (as_kind("B1-2", "inside_diameter"), "B1-2", "the outside was measured"),
    "inside typed as outside": (
        readings_of("B2-1", lambda z, v: v - (outside(ASH, z) - outside(ASH, z, -0.5 + 0.02))),
        "B2-1",
        "the inside was measured, not the outside",
    ),
    "z from the rim, typed as from the tail": (
        as_datum("B1-2", "tail", lambda z: 394.3 - z),
        "B1-2",
        "z was counted from the rim",
    ),
    "z from the tail, typed as from the rim": (
        as_datum("B1-2", "rim", lambda z: z),
        "B1-2",
        "z was counted from the tail",
    ),
    "another mandrel's bell": (
        readings_of("B1-2", lambda z, v: outside(ASH, z)),
        "B1-2",
        "it fits mandrel 'ASH'",
    ),
    "another mandrel's bell, the other way": (
        readings_of("B2-1", lambda z, v: outside(OAK, z)),
        "B2-1",
        "it fits mandrel 'OAK'",
    ),
    "radius in a scan without datum": (as_datum("B1-2", "free", lambda z: z - 99, 0.5), "B1-2", "the radius"),
    "a sheet copied to another bell": (copied, "B1-2", "share 34 readings"),
    "clearance in another unit": (
        lambda book: change(
            book[M], "value_mm", lambda _: "3.9", where={"bell_id": "B1-2", "kind": "clearance"}
        ),
        "B1-2",
        "a clearance reading of 3.9 mm",
    ),
    "a wall that is two walls": (
        lambda book: change(book[M], "value_mm", lambda _: "1.02", where={"bell_id": "B1-2", "kind": "wall"}),
        "B1-2",
        "a wall reading of 1.02 mm",
    ),
}


@pytest.mark.parametrize("name", SET_ASIDE)
def test_set_aside(name: str, tmp_path: Path) -> None:
    spoil, bell, reason = SET_ASIDE[name]
    book = sheets()
    spoil(book)
    _, findings = read_book(write(tmp_path / "book", book))
    aside = [finding for finding in findings if finding.sets_aside]
    assert any(finding.subject == bell and reason in finding.what for finding in aside), findings
    others = {finding.subject for finding in aside} - {bell}
    assert others == ({"B1-1"} if name.startswith("a sheet copied") else set())


def test_a_scan_without_datum_that_fits_is_not_doubted(tmp_path: Path) -> None:
    for way in (lambda z: z - 99, lambda z: 500 - z):
        book = sheets()
        as_datum("B1-2", "free", way)(book)
        _, findings = read_book(write(tmp_path / f"book-{way(0)}", book))
        assert {finding.grade for finding in findings} == {"note"}


def rows_twice(book: Sheets) -> None:
    book[M] += [list(row) for row in book[M][1:4]]


def oval(book: Sheets) -> None:
    for row in [row for row in book[M] if row[0] == "B1-2" and row[6] == "0"]:
        book[M].append([*row[:5], f"{float(row[5]) + (1.2 if row[4] == '100' else 0.01):.3f}", "90", "MIC"])


def two_files(book: Sheets) -> None:
    book["measurements-b.csv"] = [
        book[M][0],
        ["B1-1", "trimmed", "outside_diameter", "tail", "41", "12.96", "", "MIC"],
    ]


def biased(book: Sheets) -> None:
    book["gauges.csv"].append(["OLD", "", "0.006", "0.1", ""])
    for row in [row for row in book[M] if row[2] == "outside_diameter" and row[3] == "tail"]:
        book[M].append([*row[:5], f"{float(row[5]) + 0.05:.3f}", "90", "OLD"])


DOUBTED: dict[str, tuple[Spoil, str]] = {
    "readings typed twice": (rows_twice, "3 readings of bell 'B1-1'"),
    "an oval ring": (oval, "diameters of one ring differ by 1.2 mm"),
    "one bell in two files": (two_files, "stand in several files"),
    "a gauge that reads large": (biased, "gauge 'OLD' reads 0.050 mm"),
    "a rim's radius": (cell(B, 2, "finished_rim_mm", "50"), "the finished rim is far smaller"),
    "rims swapped": (cell(B, 2, "finished_rim_mm", "120"), "the finished rim is larger"),
    "a coarse tool": (cell(B, 2, "tool_nose_mm", "300"), "tool_nose is 300 mm"),
    "an optional column misspelt": (header(B, "anneal", "aneal"), "the column aneal is not read"),
    "a mandrel that plating made smaller": (
        lambda book: change(
            book[P], "diameter_mm", lambda d: f"{float(d) - 0.04:.4f}", where={"revision": "1"}
        ),
        "diameter -0.020 mm",
    ),
    "cells without a column name": (second_column(B, "", "lost"), "a column without a name"),
}


@pytest.mark.parametrize("name", DOUBTED)
def test_doubted(name: str, tmp_path: Path) -> None:
    spoil, reason = DOUBTED[name]
    book = sheets()
    spoil(book)
    _, findings = read_book(write(tmp_path / "book", book))
    assert any(finding.grade == "doubt" and reason in finding.what for finding in findings), findings
    assert not any(finding.sets_aside for finding in findings)
