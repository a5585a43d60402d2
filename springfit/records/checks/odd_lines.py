"""Lines scribed before release at stations that can hardly be right: off the steel, or in another unit."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["odd_lines"]

_FEWEST_OTHERS = 3  # lines of other bells on the steel that say where it is scribed
_OTHER_UNIT = 0.05  # a line 25.4 times too far, or as near, within so much of the others' median


def odd_lines(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt, setting the bell aside, for each such line; its readings are counted from it."""
    found = []
    bells = bells_on_steel(book.batches, book.bells)
    lines = bells["witness_z_mm"].dropna()
    row_of = dict(zip(book.bells["bell_id"], book.bells.index, strict=True))
    for mandrel, some in lines.groupby(bells.loc[lines.index, "mandrel_id"]):
        revisions = bells.loc[some.index, "revision"].astype(int)
        few = len(some) <= _FEWEST_OTHERS
        others = np.full(len(some), np.nan) if few else others_median(some.to_numpy(float))
        for bell, z, usual_z, revision in zip(some.index, some, others.tolist(), revisions, strict=True):
            steel = of[str(mandrel), revision]
            said = _odd(float(z), usual_z, steel)
            if not said:
                continue
            row, file = row_of[bell], str(book.bells.at[row_of[bell], "source_file"])
            unit = split_unit(book.headers.get((file, "witness_z_mm"), "witness_z_mm"))[1] or "mm"
            usual = from_mm(float(np.median(some)), unit)
            found.append(
                book.finding(
                    "doubt", "bells", row, "witness_z_mm", subject=str(bell), sets_aside=True,
                    what=f"bell {bell!r}: the scribed line at {from_mm(float(z), unit):.5g} {unit} {said}",
                    expected=f"on the steel, as other bells' about {usual:.5g} {unit}",
                    remedy="the bell is set aside until it is corrected",
                )
            )  # fmt: skip
    return found


def _odd(z: float, usual: float, steel: MandrelProfile) -> str:
    """What is odd of a line at z [mm] beside the `usual` one on its mandrel (NaN: too few); "" when nothing is."""
    if not steel.z[0] <= z <= steel.z[-1]:
        return "is past the steel"
    for factor, said in ((25.4, "inches"), (1 / 25.4, "millimetres")):
        if abs(z * factor / usual - 1) < _OTHER_UNIT:
            return f"fits the other bells in {said}"
    return ""
