"""Tables of a survey about mandrels and the blank: which would make the bell, originals set on them, what to cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from springfit.learning.basis.spun_sheet import BEAD_ON_DIAMETER_MM
from springfit.normal_errors import BAND_90
from springfit.reporting.pages.printed_tables import Sheet, printed
from springfit.reporting.wording.chance_wording import chance
from springfit.reporting.wording.length_wording import Units, amount, place, station
from springfit.survey.mandrels.ranking import LEAST_REACH

if TYPE_CHECKING:
    from springfit.survey.blank import Blank
    from springfit.survey.mandrels.ranking import Ranked
    from springfit.survey.mandrels.shop_mandrels import MandrelAnswers, OnMandrel

__all__ = ["blank_sheet", "mandrel_sheets", "ranking_table", "set_on_table"]

ANOTHER_BELL = 1.0  # [mm] rms past the best slide: no cut makes one of the other; assumed
_RANKING = (
    "mandrel_id", "fits", "slide_mm", "to_cut_mm", "cut_at_mm", "to_add_mm", "add_at_mm", "rms_mm", "covered",
)  # fmt: skip
_WORDS = {
    "right": "would make it", "too big": "steel too big in the flare", "too small": "steel too small in the flare",
    "cannot tell": "cannot tell",
}  # fmt: skip


def mandrel_sheets(answers: MandrelAnswers, units: Units) -> tuple[Sheet, ...]:
    """The ranking, and where originals were set on mandrels what came of it in short and row by row."""
    return (_ranking_sheet(answers, units), *_set_on_sheets(answers, units))


def ranking_table(answers: MandrelAnswers) -> pd.DataFrame:
    """A row a mandrel, best first [mm]."""
    return pd.DataFrame(
        [
            {
                "mandrel_id": one.mandrel_id, "fits": one.fits, "slide_mm": one.slide, "to_cut_mm": one.cut,
                "cut_at_mm": one.at_cut if one.cut else np.nan, "to_add_mm": one.add,
                "add_at_mm": one.at_add if one.add else np.nan, "rms_mm": one.rms, "covered": one.covered,
            }
            for one in answers.ranking
        ],
        columns=list(_RANKING),
    )  # fmt: skip


def set_on_table(answers: MandrelAnswers) -> pd.DataFrame:
    """A row a leaf: what passed, what the shop's own bells would show, and the difference with its band."""
    rows = []
    for one in answers.on_mandrels:
        told = one.answer
        nothing = np.full(one.z.size, np.nan)
        difference, band = (nothing, nothing) if told is None else (told.difference, told.band)
        for k, z in enumerate(one.z):
            rows.append(
                {
                    "specimen_id": one.specimen_id, "mandrel_id": one.mandrel_id, "z_mm": z, "leaf_mm": one.leaf[k],
                    "expected_mm": one.expected.clearance[k], "difference_mm": difference[k], "band_mm": band[k],
                }
            )  # fmt: skip
    columns = ["specimen_id", "mandrel_id", "z_mm", "leaf_mm", "expected_mm", "difference_mm", "band_mm"]
    return pd.DataFrame(rows, columns=columns)


def blank_sheet(blank: Blank, units: Units) -> Sheet:
    """Blank, trim line and bead, each with its rule and the shop's record beside it."""
    rims, thin = blank.rims, blank.thinning
    learned = (
        f"walls thin to {float(thin.ratio.min()):.2f} of the sheet's at the thinnest, by {thin.readings} readings"
        if thin.readings and np.any(thin.ratio != 1)
        else "no walls read: the wall is taken to stay as it is, so the blank comes out a little large"
    )
    shop = (
        "no batch says"
        if rims is None
        else f"{rims.batches} batches left {_size(rims.least, units)} to {_size(rims.most, units)}, "
        f"{_size(rims.middle, units)} in the middle"
    )
    bead = _size(BEAD_ON_DIAMETER_MM, units)
    rows = (
        ("Sheet", f"{_size(blank.wall, units)} thick", "as the originals' walls", ""),
        ("Trim to", f"Ø {_size(blank.trim, units)}", f"target and {bead} for a bead", shop),
        ("Blank's rim", f"Ø {_size(blank.uncut, units)}", "what the shop trims beyond that", shop),
        ("Round blank", f"Ø {_size(blank.disc, units)}", "the metal of bell, bead and trimming", learned),
        (
            "Seamed blank",
            f"{_size(blank.length, units)} long, {_size(blank.tail_width, units)} and "
            f"{_size(blank.rim_width, units)} wide",
            "round the tail at one end, as much metal at the other; add the seam", learned,
        ),
    )  # fmt: skip
    note = (
        "Sizes to try, not to trust: cut the first one full, and mind that a sheet cut short cannot be let out. Usual "
        "lathe and spinning cautions apply."
    )
    return Sheet("Blank, trim and bead", note, ("", "size", "rule", "the shop's record"), rows)


def _ranking_sheet(answers: MandrelAnswers, units: Units) -> Sheet:
    table = ranking_table(answers).assign(
        says=pd.Series([_rank_words(one, units) for one in answers.ranking], dtype=object)
    )
    shown = table[["mandrel_id", "slide_mm", "to_cut_mm", "to_add_mm", "rms_mm", "says"]]
    shown = shown.replace([np.inf], np.nan)
    left = (
        f" Not asked, for no batch was spun on them: {', '.join(answers.not_asked)}."
        if answers.not_asked
        else ""
    )
    note = (
        "The bell each is forecast to give, as its newest batch was spun, slid to where it lies best; past the "
        f"tolerance. Steel cannot be put back: what needs some comes last.{left}"
    )
    empty = "No mandrel could be asked: no batch was spun on any."
    return printed(shown, "Which mandrels would make it", note=note, units=units, empty=empty)


def _rank_words(one: Ranked, units: Units) -> str:
    if not one.rms < ANOTHER_BELL:
        return "another bell altogether"
    if one.fits:
        return "would make it as it is" + (
            f", set {_size(abs(one.slide), units)} along" if abs(one.slide) > 1 else ""
        )
    said = []
    if one.cut:
        said.append(f"cut {amount(one.cut, units)} at {station(one.at_cut, units)}")
    if one.add:
        said.append(f"lacks {amount(one.add, units)} at {station(one.at_add, units)}")
    if one.covered < LEAST_REACH:
        said.append(f"reaches only {one.covered:.0%} of it")
    return "; ".join(said)


def _set_on_sheets(answers: MandrelAnswers, units: Units) -> tuple[Sheet, ...]:
    if not answers.on_mandrels:
        return ()
    rows = tuple(_set_on_row(one, units) for one in answers.on_mandrels)
    note = (
        "In contact at the tail and growing to the rim as the shop's own bells do is right; snug everywhere is too "
        "big. The seat is fitted; how far the flare is too big is its mean with a 90 % band."
    )
    head = ("original", "mandrel", "would it make it", "chance", "flare too big by", "seat pushed on")
    short = Sheet("Originals set on mandrels", note, head, rows)
    by_row = printed(
        set_on_table(answers), "Row by row",
        note="The leaf that passed, what the shop's own bells would show, the difference in that seat and its band.",
        units=units, empty="",
    )  # fmt: skip
    return short, by_row


def _set_on_row(one: OnMandrel, units: Units) -> tuple[str, ...]:
    told = one.answer
    named = f"{one.mandrel_id}, revision {one.revision}"
    if told is None:
        return one.specimen_id, named, f"{one.leaf.size} leaves are too few to tell", "", "", ""
    band = amount(BAND_90 * told.too_big_error, units)
    return (
        one.specimen_id, named, _WORDS[told.answer], chance(told.chance),
        f"{amount(told.too_big, units, signed=True)} ± {band}", amount(told.seat, units, signed=True),
    )  # fmt: skip


def _size(value_mm: float, units: Units) -> str:
    return f"{place(value_mm, units)} {units}"
