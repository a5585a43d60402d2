"""How well left-out batches and mandrels were forecast, as a table for the terminal and a picture to keep."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from springfit.reporting.figures.bell_axes import STYLE, in_unit
from springfit.reporting.wording.length_wording import Units, bare_amount, small_unit

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from springfit.learning.validation.scores import Score, Validation

__all__ = ["left_out_picture", "left_out_table"]

_LEARNERS = ("ridge", "Gaussian process", "gradient boosting")
_BEST_LEARNER = "general learners"  # the best of them
_TOO_FEW = "too few batches to leave any out: how well a new one is forecast is not known yet"


def left_out_table(checked: Validation, units: Units) -> str:
    """Both tables side by side, rms and worst error over the flare per side, and what our bands covered. Rules of the
    trade by name; general learners, whose names say nothing to a maker, as the best of them: the picture has each."""
    if not checked.batches:
        return _TOO_FEW
    lines = [
        f"{'left out:':20s}{'batches':>18s}{'mandrels':>18s}   ({small_unit(units)} over the flare: rms, worst)"
    ]
    kinds = (_plain(checked.batches), _plain(checked.mandrels))
    for name, score in kinds[0].items():
        other = kinds[1].get(name)
        right = _pair(other.rms_mm, other.worst_mm, units) if other else f"{'-':>18s}"
        lines.append(f"{name:20s}{_pair(score.rms_mm, score.worst_mm, units)}{right}")
    ours = checked.batches[0]
    lines.append(_place_and_shape(checked, units))
    lines.append(
        f"90 % bands cover {ours.cover:.0%} of the left-out batches' flare "
        f"({bare_amount(ours.width_mm, units)} {small_unit(units)} wide) and {ours.cover_bell:.0%} of their bells' "
        f"({bare_amount(ours.width_bell_mm, units)} {small_unit(units)} wide)"
    )
    return "\n".join(lines)


def _plain(scores: Sequence[Score]) -> dict[str, Score]:
    """Scores by name, general learners as their best."""
    plain = {score.method: score for score in scores if score.method not in _LEARNERS}
    learners = [score for score in scores if score.method in _LEARNERS]
    return {**plain, _BEST_LEARNER: min(learners, key=lambda score: score.rms_mm)} if learners else plain


def _place_and_shape(checked: Validation, units: Units) -> str:
    """Ours apart: where the flare stands along the axis, which a seat hides, and its shape."""
    kinds = [("batches", checked.batches), ("mandrels", checked.mandrels)]
    parts = [
        f"{name} {bare_amount(scores[0].shape_rms_mm, units)} and {bare_amount(scores[0].place_rms_mm, units)}"
        for name, scores in kinds
        if scores
    ]
    return f"of which shape and place along the axis: {', '.join(parts)} {small_unit(units)}"


def left_out_picture(checked: Validation, units: Units) -> Figure:
    """A row a method: a disc where its rms on left-out batches lies, a ring for left-out mandrels, lines to the worst.

    `checked` must have scores of batches; black on white.
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.6, 3.6), layout="constrained")
        axes = figure.subplots()
        for scores, off, face, name in (
            (checked.batches, -0.14, "black", "batches left out, one at a time"),
            (checked.mandrels, 0.14, "white", "mandrels left out, one at a time"),
        ):
            if scores:
                rows = [index + off for index in range(len(scores))]
                rms = in_unit(small_unit(units), [score.rms_mm for score in scores])
                worst = in_unit(small_unit(units), [score.worst_mm for score in scores])
                axes.hlines(rows, rms, worst, color="0.55", linewidth=1.0)
                axes.plot(worst, rows, "|", color="0.35", markersize=8)
                axes.plot(rms, rows, "o", color="black", markerfacecolor=face, markersize=7, label=name)
        axes.set_yticks(range(len(checked.batches)), [score.method for score in checked.batches])
        axes.invert_yaxis()
        axes.set_xlim(left=0.0)
        axes.set_xlabel(
            f"error over the flare, per side [{small_unit(units)}]: rms, and the line ends at the worst"
        )
        axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, frameon=False, fontsize=10)
    return figure


def _pair(rms_mm: float, worst_mm: float, units: Units) -> str:
    return f"{bare_amount(rms_mm, units):>10s}{bare_amount(worst_mm, units):>8s}"
