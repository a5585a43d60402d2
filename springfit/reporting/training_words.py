"""What a training tells: a few lines for the terminal and the same facts for scripts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from springfit.files import write_files
from springfit.findings import Finding
from springfit.learning.effects import confounded, effects_of, typical_gap
from springfit.reporting.effect_wording import confounded_words, effect_as_told, effect_words, finding_words
from springfit.reporting.figures.images import as_png
from springfit.reporting.figures.left_out_figure import left_out_picture, left_out_table
from springfit.reporting.outcome_wording import how_words, in_use_words
from springfit.reporting.set_aside_wording import set_aside_words
from springfit.reporting.wording.length_wording import Units, amount, bare_amount

if TYPE_CHECKING:
    from springfit.learning.set_aside import SetAside
    from springfit.learning.versions.training import Training

__all__ = ["doubted_lines", "training_summary", "training_text", "write_left_out"]

PICTURE = "left_out.png"
_MOST_LISTED = 12  # bells set aside that are listed one by one; a screenful
_MOST_TOGETHER = 6  # pairs that changed together that are listed; the summary for scripts has them all


def training_text(done: Training) -> str:
    """Lines for the terminal: what was learned from, how well left-out batches are forecast, what was set aside."""
    lines = [
        f"{done.version}: learned from {done.bells} bells of {done.batches} batches ({done.readings} readings)",
        how_words(done.how),
        f"{'in use' if done.in_use else 'NOT in use'}: {in_use_words(done.reason, _units(done))}",
    ]
    lines.extend(_checked(done))
    lines.extend(_effects(done))
    lines.extend(_log(done))
    lines.extend(_set_aside(done))
    if done.unmeasured_scrap:
        lines.append(
            f"{done.unmeasured_scrap} scrapped bells were never measured: what went wrong there cannot be learned"
        )
    return "\n".join(lines)


def training_summary(done: Training) -> dict[str, Any]:
    """The same for scripts."""
    return {
        "version": done.version,
        "how": how_words(done.how),
        "in_use": done.in_use,
        "reason": in_use_words(done.reason, _units(done)),
        "batches": done.batches,
        "bells": done.bells,
        "readings": done.readings,
        "validation": dict(done.model.validation),
        "validation_of": done.full,
        "log": [asdict(one) for one in done.log],
        "effects": [effect_as_told(effect) for effect in effects_of(done.model)],
        "not_told_apart": [confounded_words(pair) for pair in confounded(done.model)],
        "set_aside": [_as_told(one, _units(done)) for one in done.set_aside],
        "unmeasured_scrap": done.unmeasured_scrap,
    }


def write_left_out(done: Training, store: Path) -> Path | None:
    """Puts `left_out.png` beside the version just stored; None where nothing was left out in this training."""
    if done.validation is None or not done.validation.batches:
        return None
    picture = left_out_picture(done.validation, _units(done))
    return write_files({PICTURE: as_png(picture, dots_per_inch=150)}, store / done.version)[0]


def _units(done: Training) -> Units:
    return "in" if done.model.units == "in" else "mm"


def _checked(done: Training) -> list[str]:
    """The left-out figures: this training's own, or after an update those of the last full fit."""
    if done.validation is not None:
        return [left_out_table(done.validation, _units(done))]
    told = done.model.validation
    kinds = [
        (name, told[f"left_out_{name}"]["rms_mm"])
        for name in ("batches", "mandrels")
        if f"left_out_{name}" in told
    ]
    if not kinds:
        return []
    figures = ", ".join(f"{name} to {amount(rms, _units(done))} rms" for name, rms in kinds)
    return [f"left-out figures are those of {done.full}, the last full fit: {figures} over the flare"]


def _log(done: Training) -> list[str]:
    """The running log in one line, and what this training added to it."""
    if not done.log:
        return []
    rms = (sum(one.rms_mm**2 for one in done.log) / len(done.log)) ** 0.5
    inside = sum(one.inside_band for one in done.log) / len(done.log)
    error = amount(rms, _units(done))
    line = f"running log: {len(done.log)} forecasts made before their batch was learned, {error} rms"
    return [f"{line}, {inside:.0%} of the flare inside the 90 % band; {done.logged} of them new"]


def doubted_lines(findings: Sequence[Finding], set_aside: Sequence[SetAside], units: Units) -> list[str]:
    """The readings and sizes that reading the book found doubtful, again, and what the fit says of their bells."""
    doubts = [one for one in findings if one.sets_row_aside or one.sets_aside]
    told = {one.subject for one in doubts}
    said = {one.bell_id: set_aside_words(one.why, units) for one in set_aside if one.bell_id in told}
    lines = [f"in doubt, not learned from: {one.line()}" for one in doubts[:_MOST_LISTED]]
    if len(doubts) > _MOST_LISTED:
        lines.append(f"... and {len(doubts) - _MOST_LISTED} more: springfit check BOOK lists them")
    by_row = {one.subject for one in doubts if one.sets_row_aside and not one.stops}  # bells, not mandrels
    for bell in sorted(by_row):
        fit = said.get(bell, "the rest of it goes with its batch")
        lines.append(f"the fit says of {bell}: {fit}")
    return lines


def _effects(done: Training) -> list[str]:
    """What drives springback: what was found, what was looked for and not found, and what cannot be told apart."""
    effects = effects_of(done.model)
    if not effects:
        return []
    units = _units(done)
    usual = amount(typical_gap(done.model), units)
    lines = [f"what drives it (change of the largest gap of a usual batch, {usual}, and its 90 % band):"]
    for effect in sorted(effects, key=lambda one: not one.claimed):
        size, high = (amount(length, units, signed=True) for length in (effect.size_mm, effect.high_mm))
        band = f"({bare_amount(effect.low_mm, units, signed=True)} to {high})"
        lines.append(f"  {effect_words(effect):42s} {size:>12s}  {band:24s} {finding_words(effect).split(':')[0]}")
    together = [confounded_words(pair) for pair in confounded(done.model)]
    lines.extend(together[:_MOST_TOGETHER])
    if len(together) > _MOST_TOGETHER:
        lines.append(f"... and {len(together) - _MOST_TOGETHER} more things that changed together")
    return lines


def _set_aside(done: Training) -> list[str]:
    """Bells set aside, one a line; many of one batch are one line."""
    units = _units(done)
    batches = Counter(one.batch_id for one in done.set_aside)
    lines, told = [], set()
    for one in done.set_aside:
        if batches[one.batch_id] > 3:
            if one.batch_id not in told:
                told.add(one.batch_id)
                bells = len({other.bell_id for other in done.set_aside if other.batch_id == one.batch_id})
                what = f"{bells} bells of batch {one.batch_id}, such as {one.bell_id}"
                lines.append(f"set aside in part: {what}: {set_aside_words(one.why, units)}")
        else:
            lines.append(f"set aside: {one.bell_id}: {set_aside_words(one.why, units)}")
    more = len(lines) - _MOST_LISTED
    return lines[:_MOST_LISTED] + ([f"... and {more} more"] if more > 0 else [])


def _as_told(one: SetAside, units: Units) -> dict[str, str]:
    return {"bell_id": one.bell_id, "batch_id": one.batch_id, "reason": set_aside_words(one.why, units)}
