"""What a survey of originals says, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from springfit.reporting.wording.facet_wording import usual_spacing
from springfit.reporting.wording.length_wording import Units, amount, both_ways, place, station
from springfit.reporting.wording.zones import stretches

if TYPE_CHECKING:
    from springfit.survey.differences import OwnDifference
    from springfit.survey.family_survey import Survey

__all__ = ["headline", "limits_of_survey", "odd_words", "specimen_words", "tolerance_words"]

_OFFSET_SURE = 2.0  # standard deviations that make a common offset worth a word; 19 times in 20


def headline(survey: Survey, units: Units) -> str:
    """What the target rests on, in one line."""
    used, aside = len(survey.consensus.specimens), sum(one.sets_aside for one in survey.findings)
    names = ", ".join(one.specimen_id for one in survey.consensus.specimens)
    left_out = f"; {aside} left out, see the notes" if aside else ""
    rim = survey.stations.r[-1] * 2
    bells = "one original" if used == 1 else f"{used} originals"
    return f"The common inside line of {bells} ({names}) up to Ø {place(rim, units)}{left_out}."


def tolerance_words(survey: Survey, units: Units) -> str:
    """The tolerance and what it rests on."""
    much = both_ways(survey.tolerance, units)
    if survey.tolerance_known:
        return f"Nine originals in ten lie within {much} of it, normal, per side: proposed as the tolerance."
    return f"One original tells no spread: the tolerance of {much} is common practice, not found here."


def specimen_words(difference: OwnDifference, survey: Survey, units: Units) -> str:
    """How one specimen differs, wear and buffing told from shape."""
    said = []
    if abs(difference.offset) > _OFFSET_SURE * difference.offset_error and abs(difference.offset) > 0.005:
        which = "under" if difference.offset < 0 else "over"
        said.append(
            f"all of it {amount(abs(difference.offset), units)} {which} the others: wear, buffing or its wall"
        )
    for departure in difference.departures:
        what = "a dent or a worn place" if departure.amount < 0 else "a patch or a bulge"
        said.append(
            f"{amount(departure.amount, units, signed=True)} at {station(departure.z, units)}: {what}"
        )
    if difference.lacking:
        said.append(f"lacks facet {' and '.join(map(str, difference.lacking))}")
    if difference.odd and not said:
        said.append("its whole shape wanders from the others: is it of this family?")
    return "; ".join(said) or "as the others"


def odd_words(survey: Survey, units: Units) -> str:
    """Which specimen is the odd one and why."""
    odd = survey.odd
    if odd is None:
        return (
            "no specimen stands out"
            if len(survey.differences) > 2
            else "two or fewer cannot say which is odd"
        )
    return f"{odd.specimen_id}: {specimen_words(odd, survey, units)}"


def limits_of_survey(survey: Survey, units: Units) -> tuple[str, ...]:
    """What the survey cannot tell."""
    said = []
    number, spread, line = len(survey.consensus.specimens), survey.spread, survey.stations
    if spread.masked.any():
        where = stretches(line.z, spread.masked, units)
        said.append(
            f"Too few specimens agree at {where}: if most are dented there, nothing here can tell "
            "the dent from the bell."
        )
    if number == 1:
        said.append(
            "The spread between bells of the family is not known from one of them; a second would begin to tell."
        )
    spacing = float(np.median(np.hypot(np.diff(survey.consensus.z), np.diff(survey.consensus.r))))
    said.append(
        f"All stations together lie {place(spacing, units)} {units} apart: a facet shorter than "
        f"{place(4 * spacing, units)} {units} would not be told; measure closer where one is suspected."
    )
    for index, shared in enumerate(survey.facets, start=1):
        if not shared.facet.tells_depth:
            said.append(
                f"Facet {index}: the stations are too sparse to tell its depth: measure every "
                f"{usual_spacing(shared.facet.widest_spacing, units)} there."
            )
    said.append("Waves of the curvature that carry no number are within what the stations leave open: no facets.")
    worst = int(np.argmax(spread.error))
    said.append(
        f"The line itself is known to {amount(float(spread.error[worst]), units)}, two times in three, at the worst "
        f"place, {station(float(line.z[worst]), units)}; counted in is what buffing uneven from bell to bell and walls "
        "read at one place leave open. More originals make it less."
    )
    said.append(
        "What wear or buffing took off all of them alike cannot be told from shape; nor where along the axis the "
        "family's own tail lay: the middle one of the tails is taken."
    )
    said.append(
        f"It begins at the first stations, {station(float(line.z[0]), units)}, and ends at the last: no further."
    )
    return tuple(said)
