"""What a kind of gauge usually errs by: stands in where the book does not say, told so until a gauge study replaces it.

The figures are the maximum permissible error of the instrument as a rectangular distribution (ISO 3650 and the caliper
and micrometer standards give 0.02 to 0.05 mm and 0.004 mm; divided by sqrt 3, as the GUM does) with the feel of a hand
on a thin wall beside it, by judgement and rounded up: too large a figure widens a band, too small a one closes it
wrongly. The station's is how a place is found by hand: a rule along a flare 0.4 mm, a scribed line 0.2 mm.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from springfit.findings import Finding
from springfit.lengths import in_words, split_unit
from springfit.records.blank_cells import is_blank
from springfit.records.book import Headers, located
from springfit.records.rules.error_collector import ErrorCollector, Frames

__all__ = ["LEAVES", "UNNAMED", "USUAL_GAUGES", "UsualGauge", "fill_gauges", "usual_gauge"]


@dataclass(frozen=True)
class UsualGauge:
    """A kind of gauge: the `words` that name it, 1 sd [mm] of a value and of placing its station."""

    name: str
    words: tuple[str, ...]
    repeatability_mm: float
    station_mm: float


# The figures of each: see above.
LEAVES = UsualGauge("feeler leaves", ("feeler", "thickness gauge leaves"), 0.02, 0.4)
# Of a reading of which no gauge is named: the one that lies on every bench
UNNAMED = UsualGauge("dial caliper", ("dial caliper",), 0.03, 0.4)
# The first that fits counts, so the narrower names come first.
USUAL_GAUGES = (
    LEAVES,
    UsualGauge("ball micrometer for walls", ("ball micrometer", "wall micrometer", "tube micrometer"), 0.006, 1.0),
    UsualGauge("ring gauges", ("ring gauge", "ring"), 0.005, 0.1),
    UsualGauge("pi tape", ("pi tape", "circumference tape"), 0.03, 0.4),
    UsualGauge("telescoping gauge", ("telescoping", "telescopic", "bore gauge"), 0.02, 0.3),
    UsualGauge("micrometer", ("micrometer",), 0.01, 0.2),
    UNNAMED,
    UsualGauge("digital caliper", ("digital caliper",), 0.03, 0.4),
    UsualGauge("vernier caliper", ("vernier", "caliper"), 0.04, 0.4),
    UsualGauge("stylus or dial indicator on the slide", ("stylus", "indicator", "dial gauge", "trace"), 0.02, 0.1),
    UsualGauge("steel rule", ("rule", "ruler", "scale"), 0.3, 0.5),
)
_SPELT = {"gage": "gauge", "calliper": "caliper", "mike": "micrometer", "mic": "micrometer"}
_FIGURES = ("repeatability_mm", "station_mm")


def usual_gauge(what: object) -> UsualGauge | None:
    """The usual kind that a gauge's description names; None where it names none."""
    if is_blank(what):
        return None
    said = f" {_plain(str(what))} "
    return next((kind for kind in USUAL_GAUGES if any(f" {_plain(word)} " in said for word in kind.words)), None)


def _plain(words: str) -> str:
    """Small letters, each word in the singular and as the British spell it: `dial calipers` are a dial caliper."""
    singular = (re.sub(r"s$", "", word) for word in re.findall(r"[a-z]+", words.casefold()))
    return " ".join(_SPELT.get(word, word) for word in singular)


def fill_gauges(frames: Frames, headers: Headers) -> list[Finding]:
    """Fills blank figures of gauges by their kind, with a note each; an error where `what` names no usual kind."""
    errors, notes = ErrorCollector(frames, headers), []
    gauges = frames["gauges"]
    for column in _FIGURES:
        blank = gauges.index[gauges[column].isna() & gauges["gauge_id"].notna()]
        for row in blank:
            cells: Any = gauges.at
            kind, name = usual_gauge(cells[row, "what"]), column.removesuffix("_mm")
            if kind is None:
                kinds = ", ".join(one.name for one in USUAL_GAUGES)
                what = f"{name} is blank and 'what' names no usual kind of gauge"
                errors.refuse("gauges", [row], column, what, f"the figure, or in 'what' one of: {kinds}")
                continue
            gauges.loc[row, column] = getattr(kind, column)
            place = located(headers, gauges, row, column)
            header = headers.get((cells[row, "source_file"], column), column)
            shown = in_words(getattr(kind, column), "mm" if split_unit(header)[1] == "mm" else "in")
            what = f"{name} of gauge {cells[row, 'gauge_id']!r} is not known: {shown} is taken"
            expected = f"as usual for {kind.name}"
            remedy = "measure one bell several times over and write down the spread"
            notes.append(Finding("note", *place, what, expected, remedy, str(cells[row, "gauge_id"])))
    return errors.findings + notes
