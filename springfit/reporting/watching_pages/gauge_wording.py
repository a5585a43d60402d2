"""What the readings say of gauges, of the smallest change they show, and of whose spread it is."""

from __future__ import annotations

import math

from springfit.lengths import from_mm
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import Units, amount, fine_amount, small_unit
from springfit.watching.gauges.crossed_gauges import CrossedGauges
from springfit.watching.gauges.measured_gauges import MeasuredGauge, SmallestChange
from springfit.watching.gauges.spread_sources import SOURCES, ZoneSpread
from springfit.watching.gauges.variance_components import Component

__all__ = ["change_words", "gauge_rows", "gauge_sheet", "spread_sheet", "study_words"]

_BY = {
    "repeats": "readings taken twice at one place",
    "fit": "how far readings lie from their bells' curves; no place was read twice",
    "stated": "nothing but its own row: read some places twice",
}
_NO_STUDY = (
    "No gauge study: that needs places which several gauges read several times each. Five places of one bell, read "
    "twice with every gauge and written down as any other reading, make one."
)


def gauge_sheet(gauges: tuple[MeasuredGauge, ...], units: Units) -> Sheet:
    """The gauges as the readings find them."""
    head = ("gauge", "readings", "stated", "found", "found, 90 %", "repeats", "off the others", "by")
    body = []
    for one in gauges:
        band = f"{fine_amount(one.low, units)} to {fine_amount(one.high, units)}" if one.repeats else ""
        found = one.repeatability if one.repeats else one.stated * one.scale
        off = ""
        if math.isfinite(one.bias):
            off = f"{fine_amount(one.bias, units, signed=True)} ± {fine_amount(one.bias_sd, units)}"
        body.append((
            one.gauge_id, str(one.readings), fine_amount(one.stated, units), fine_amount(found, units), band,
            str(one.repeats), off, _BY[one.by],
        ))  # fmt: skip
    note = f"In {small_unit(units)}: within how much a reading comes again, two times in three (1 sd); "
    note += "off the others as a gap, per side. "
    note += "Who read is not in the book, so hands are not told apart."
    return Sheet("What the readings say of the gauges", note, head, tuple(body))


def gauge_rows(gauges: tuple[MeasuredGauge, ...], units: Units) -> tuple[str, ...]:
    """The lines to write down in gauges.csv, its head first: the gauges with what was found of them."""
    head = f"gauge_id,what,repeatability_{units},station_{units},ball_radius_{units}"
    rows = [
        f"{_cell(one.gauge_id)},{_cell(one.what)},{_typed(one.suggested, units)},{_typed(one.station, units)},"
        f"{_typed(one.ball_radius, units)}"
        for one in gauges
    ]
    return (head, *rows)


def study_words(crossed: CrossedGauges | None, units: Units) -> str:
    """The gauge study in a sentence or two; how to make one where the book has none."""
    if crossed is None:
        return _NO_STUDY
    study, names = crossed.study, ", ".join(crossed.gauges)
    repeat, between = (fine_amount(math.sqrt(part), units) for part in (study.repeat, study.person + study.interaction))
    return (
        f"Gauge study: {crossed.places} places, each read {crossed.readings} times with {names}. Reading again "
        f"differs by {repeat} {small_unit(units)} as a rule, one gauge from another by {between}; the places "
        f"themselves by {fine_amount(math.sqrt(study.part), units)}."
    )


def spread_sheet(spreads: tuple[ZoneSpread, ...], units: Units) -> Sheet:
    """By zone, how much of the spread beyond the forecasts comes from where."""
    body = [
        (one.zone, str(one.batches), *(_source(one.of(name), units) for name in SOURCES)) for one in spreads
    ]
    note = (
        f"In {small_unit(units)} per side: what bells differ from forecasts by as a rule (1 sd), in brackets where "
        "that lies nine times in ten. The batches' own is what neither spinner, lot nor gauge has in common, the error "
        "of a batch's readings in it. Where a band begins at 0 the source may be nothing at all; an empty place cannot "
        "be told from this book."
    )
    few = "Six batches with three before each are needed to say where spread comes from."
    head = ("zone", "batches read", "bells of a batch", "batches' own", "spinners", "lots", "gauges")
    return Sheet("Whose spread is it", note if body else few, head if body else (), tuple(body))


def _source(one: Component | None, units: Units) -> str:
    if one is None:
        return ""
    high = fine_amount(one.high, units) if math.isfinite(one.high) else "any"
    return f"{fine_amount(one.sd, units)} ({fine_amount(one.low, units)} to {high})"


def _typed(value_mm: float, units: Units) -> str:
    """A length for a cell of the book: three digits that count."""
    return f"{from_mm(value_mm, units):.3g}"


def _cell(text: str) -> str:
    """Text as a CSV cell."""
    return '"' + text.replace('"', '""') + '"' if set(text) & set(',"\n') else text


def change_words(changes: tuple[SmallestChange, ...], units: Units) -> str:
    """The smallest change that the shop's measuring can see, zone by zone."""
    if not changes:
        return ""
    said = ", ".join(f"{one.zone} {amount(one.change, units)}" for one in changes)
    return f"Smallest change of a batch's mean that the measuring shows nine times in ten: {said}."
