"""Sizes that a shop seldom writes down: walls, rims, gauge errors, clearances; and steel that changed."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.findings import Finding
from springfit.lengths import from_mm, in_thousandths, in_words, split_unit
from springfit.records.book import Book
from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.rules.revisions import bells_on_steel, is_plated
from springfit.records.sheets.schemas import other_unit
from springfit.records.tables import TABLES

__all__ = ["changed_steel", "is_odd", "odd_bell_walls", "odd_readings", "odd_rims", "odd_words", "unusual_sizes"]

Floats = NDArray[np.float64]

# By judgement, looked at on the demo and the three sample shops.
# Of one leaf, at the widest place: a bell further off is not seated. The most there is 1.6 mm, and wider rims spring
# more; the median of a whole sheet has a narrower limit (`mistakes`)
_LARGEST_CLEARANCE_MM = 3.0
_WALL_RATIOS = (0.5, 1.6)  # a wall beside its sheet, there 0.87 to 1.06: half or double is another sheet or unit
# Walls of bells of one batch differ there by 3 %, and from what was read on the bell by 4 %: four times that
_BELL_WALLS, _FEWEST_BELLS, _FEWEST_READ = 0.12, 3, 2
_RIM_RATIOS = (0.6, 1.1)  # a blank's rim beside the steel it is spun on to, there 0.96 to 1.03: half of it is a radius
_LEAST_FINISHED = 0.6  # of the blank's rim left after trimming, there 0.81 to 0.96: half of it is a radius


def unusual_sizes(book: Book) -> list[Finding]:
    """A doubt for every size outside what shops usually write down, with the unit that would explain it."""
    findings = []
    for name, table in TABLES.items():
        frame: pd.DataFrame = getattr(book, name)
        for column in table.columns:
            if column.usual is None:
                continue
            values, (low, high) = frame[column.frame_name], column.usual
            for row in frame.index[(values < low) | (values > high)]:
                header = book.headers.get((frame["source_file"][row], column.frame_name), column.frame_name)
                unit = split_unit(header)[1]
                findings.append(
                    book.finding(
                        "doubt",
                        name,
                        row,
                        column.frame_name,
                        what=f"{column.name} is {_in_column(float(values[row]), unit)}",
                        expected=f"usually {_bounds(low, high, unit)}",
                        remedy=other_unit(column, unit, float(values[row])) or "check it",
                        subject=str(frame[table.key[0]][row]) if table.key else "",
                        stops=name == "targets",
                    )
                )
    return findings


def _in_column(value: float, unit: str | None) -> str:
    """A length [mm] as its column has it: a doubt of another unit is read beside the cell."""
    unit = unit or "mm"
    return f"{from_mm(value, unit):.6g} {unit}"


def _bounds(low: float, high: float, unit: str | None) -> str:
    """Bounds [mm] in words; in inches and thou rounded to what a maker would say."""
    unit = unit or "mm"
    figures = 12 if unit == "mm" else 2
    return f"{from_mm(low, unit):.{figures}g} to {from_mm(high, unit):.{figures}g} {unit}"


def odd_readings(book: Book) -> list[Finding]:
    """A doubt, setting the bell aside, for clearances and walls that no seated bell can have."""
    readings = book.measurements
    sheet = readings["bell_id"].map(bells_on_steel(book.batches, book.bells)["wall_mm"])
    findings = []
    for kind in ("clearance", "wall"):
        of_kind = readings[readings["kind"] == kind]
        odd = of_kind[is_odd(kind, of_kind["value_mm"].to_numpy(float), sheet[of_kind.index].to_numpy(float))]
        for bell, rows in odd.groupby("bell_id"):
            what, expected, remedy = odd_words(str(bell), kind, len(rows), float(rows["value_mm"].iloc[0]), book.units)
            findings.append(
                book.finding(
                    "doubt", "measurements", rows.index[0], "value_mm", subject=str(bell), sets_aside=True, what=what,
                    expected=expected, remedy=remedy,
                )
            )  # fmt: skip
    return findings


def odd_bell_walls(book: Book) -> list[Finding]:
    """A doubt for a bell's wall that what was read on it does not bear out or, where nothing was, its batch's bells."""
    walls = book.bells["wall_mm"]
    read = book.measurements[book.measurements["kind"] == "wall"].groupby("bell_id")["value_mm"].agg(["median", "size"])
    own = book.bells["bell_id"].map(read["median"].where(read["size"] >= _FEWEST_READ))
    sheet = book.bells["batch_id"].map(dict(zip(book.batches["batch_id"], book.batches["wall_mm"], strict=True)))
    own = own.where(~is_odd("wall", own.to_numpy(float), sheet.to_numpy(float)))  # those are told, and no witness
    known = book.bells[walls.notna()].groupby("batch_id")["wall_mm"]
    others = known.transform(lambda some: others_median(some.to_numpy(float)))
    others = others.where(known.transform("size") > _FEWEST_BELLS)
    expected = own.fillna(others)
    findings = []
    for row in walls.index[(walls / expected - 1).abs() > _BELL_WALLS]:
        bell, borne_out = str(book.bells.at[row, "bell_id"]), float(expected[row])
        shown, about = in_words(float(walls[row]), book.units), in_words(borne_out, book.units)
        by = "as was read on it" if np.isfinite(own[row]) else "as the other bells of its batch"
        header = book.headers.get((str(book.bells.at[row, "source_file"]), "wall_mm"), "wall_mm")
        unit = split_unit(header)[1] or "mm"
        meant = from_mm(borne_out, unit)
        guess = likely_typed(f"{from_mm(float(walls[row]), unit):.6g}", meant, meant * _BELL_WALLS / 2)
        remedy = f"was it {guess}?" if guess else "check it"
        what = f"the wall of bell {bell!r} is {shown}"
        findings.append(
            book.finding("doubt", "bells", row, "wall_mm", what=what, expected=f"about {about}, {by}", remedy=remedy,
                         subject=bell)
        )  # fmt: skip
    return findings


def is_odd(kind: str, value: Floats, sheet: Floats) -> NDArray[np.bool_]:
    """Which clearances or walls [mm] no seated bell spun from `sheet` [mm] can have; of another kind none."""
    if kind == "clearance":
        return value > _LARGEST_CLEARANCE_MM
    ratio = value / sheet if kind == "wall" else np.ones(len(value))
    return (ratio < _WALL_RATIOS[0]) | (ratio > _WALL_RATIOS[1])


def odd_words(bell: str, kind: str, count: int, value: float, units: str) -> tuple[str, str, str]:
    """What is said of so many odd clearances or walls of a bell, such as `value` [mm], in a book of `units`; what is
    expected; the remedy."""
    readings = f"{count} {kind} readings such as" if count > 1 else f"a {kind} reading of"
    limits = {
        "clearance": f"a clearance below {in_words(_LARGEST_CLEARANCE_MM, units)}",
        "wall": f"{_WALL_RATIOS[0]:g} to {_WALL_RATIOS[1]:g} of the wall of its sheet",
    }
    remedy = "was another unit typed? The bell is set aside until it is corrected"
    return f"bell {bell!r}: {readings} {in_words(value, units)}", limits[kind], remedy


def odd_rims(book: Book, of: dict[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt for a batch whose rims do not go together, or with the steel."""
    findings = []
    batches = book.batches
    for row, mandrel, revision, blank, finished in zip(
        batches.index,
        *(batches[name] for name in ("mandrel_id", "revision", "blank_rim_mm", "finished_rim_mm")),
        strict=True,
    ):
        largest = float(of[mandrel, int(revision)].diameter.max())
        said = None
        if finished > blank:
            said = "finished_rim_mm", "the finished rim is larger than the blank's", "a rim that was trimmed"
        elif finished < _LEAST_FINISHED * blank:
            said = "finished_rim_mm", "the finished rim is far smaller than the blank's", "both as diameters"
        elif not np.isnan(blank) and not _RIM_RATIOS[0] <= blank / largest <= _RIM_RATIOS[1]:
            said = (
                "blank_rim_mm",
                "the blank's rim does not go with the mandrel",
                f"about {in_words(largest, book.units)} or less",
            )
        if said is not None:
            column, what, expected = said
            findings.append(
                book.finding(
                    "doubt",
                    "batches",
                    row,
                    column,
                    what=what,
                    expected=expected,
                    remedy="was a radius typed for a diameter?",
                    subject=str(batches["batch_id"][row]),
                )
            )
    return findings


def changed_steel(book: Book, of: dict[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A note on every revision: what was taken off or put on since the last; a doubt where it cannot be."""
    findings = []
    mandrels = book.mandrels
    for row in mandrels.index:
        mandrel, revision = str(mandrels["mandrel_id"][row]), int(mandrels["revision"][row])
        earlier = [r for m, r in of if m == mandrel and r < revision]
        if not earlier:
            continue
        new, old = of[mandrel, revision], of[mandrel, max(earlier)]
        at = new.z[(new.z >= old.z[0]) & (new.z <= old.z[-1])]
        change = np.interp(at, new.z, new.diameter) - np.interp(at, old.z, old.diameter)
        plated = is_plated(mandrels["finish"][row])
        grown = float(np.median(change)) if len(change) else 0.0
        sizes = (grown, *((float(change.min()), float(change.max())) if len(change) else (0.0, 0.0)))
        middle, least, most = (in_thousandths(size, book.units, sign="+") for size in sizes)
        what = (
            f"mandrel {mandrel!r} revision {revision} against {max(earlier)}: "
            f"diameter {middle} (median), {least.split()[0]} to {most}"
            if len(change)
            else f"mandrel {mandrel!r} revision {revision} has no station in common with {max(earlier)}"
        )
        was_plated = is_plated(_finish(book, mandrel, max(earlier)))
        odd = (plated and not was_plated and grown < 0) or not len(change)
        findings.append(
            book.finding(
                "doubt" if odd else "note",
                "mandrels",
                row,
                "revision",
                what=what,
                subject=mandrel,
                expected="a plated mandrel larger than it was bare" if odd else "",
            )
        )
    return findings


def _finish(book: Book, mandrel: str, revision: int) -> str:
    rows = book.mandrels[(book.mandrels["mandrel_id"] == mandrel) & (book.mandrels["revision"] == revision)]
    return str(rows["finish"].iloc[0])
