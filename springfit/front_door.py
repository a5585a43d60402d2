"""The front door: a record book read, fitted, asked, judged and drawn from Python, with frames in and out.

Each function is a few lines over the room that does the work. Lengths are mm and angles rad, as everywhere inside; a
frame names its units in its columns (`z_mm`, `z_in`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from springfit.decisions import correction as corrections
from springfit.decisions import forecast as forecasts
from springfit.decisions.correction import Correction
from springfit.decisions.cut_tables.sizes_to_turn import USUAL_SKIVE_MM
from springfit.decisions.forecast import Forecast
from springfit.decisions.learned_shop import LearnedShop
from springfit.decisions.unlearned import learned_by, measured_batches, require_askable, unlearned
from springfit.findings import BookError, Finding
from springfit.geometry.meridian import Meridian
from springfit.learning.calibration.calibrated import calibrated_experience
from springfit.learning.data.mandrel_steel import draft_meridian
from springfit.learning.fit import Fit
from springfit.learning.fitting import fit_model, physics_model
from springfit.learning.memory import Memory
from springfit.learning.model import SpringModel
from springfit.learning.training_frame import STATIONS, TrainingFrame, frame_of
from springfit.learning.validation import scores
from springfit.learning.validation.leaving_out import measured_curve
from springfit.learning.versions.store import ModelStore
from springfit.lengths import MM_PER_UNIT, split_unit
from springfit.records.book import Book
from springfit.records.checks.catalogue import doubts
from springfit.records.conditions import Conditions, read_profile
from springfit.records.reading import check_book, read_book
from springfit.reporting.figures.bell_figures import draw_error
from springfit.reporting.figures.forecast_figure import draw_forecast
from springfit.reporting.wording.length_wording import Units
from springfit.reporting.wording.reason_wording import reason_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "check_book",
    "correct",
    "describe",
    "fit",
    "forecast",
    "load",
    "plot_correction",
    "plot_forecast",
    "read_book",
    "training_frame",
    "validate",
]


def fit(book: Book, findings: Sequence[Finding] = ()) -> SpringModel:
    """The model of a book as `springfit train` learns it, its left-out validation included; it is kept nowhere.

    findings: those of reading the book; a bell that one of them sets aside is not learned from. Mechanics alone where
    no sound bell was measured. Raises BookError for an alloy that the table does not have.
    """
    experience = calibrated_experience(book, findings)
    fitted = fit_model(experience)
    if fitted is None:
        return physics_model(experience)
    checked = scores.validate(fitted)
    model = fitted.model(validation=checked.as_dict(), known=checked.known, new=checked.new)
    learned = measured_batches(book, findings)
    return replace(model, memory=Memory(learned, {}, sum(bell.readings for bell in experience.raw), "", len(learned)))


def load(store: str | Path = "models", version: str | None = None) -> SpringModel:
    """The version in use of a folder of trained models, or the one named; BookError when there is none."""
    return ModelStore(Path(store)).load(version)


def forecast(
    model: SpringModel,
    mandrel: Meridian | pd.DataFrame | str | Path,
    conditions: Conditions | Mapping[str, Any],
    *,
    stage: str = "trimmed",
) -> Forecast:
    """The bell that a mandrel gives under stated conditions, at `stage` "trimmed" or "spun".

    mandrel: a line, a frame with z_mm and diameter_mm (or z_in and diameter_in), or the path of such a CSV file.
    conditions: values of the columns of `batches`, `alloy` among them; what is left out is unknown and widens the
    band. Raises ValueError naming a column that is missing or not known, UnknownAlloyError for an unknown alloy.
    """
    return forecasts.forecast(model, _line(mandrel), _conditions(conditions), stage=stage)


def correct(
    model: SpringModel,
    book: Book,
    target_id: str,
    *,
    conditions: Conditions | Mapping[str, Any] | None = None,
    cost_ratio: float | None = None,
    skive_mm: float = USUAL_SKIVE_MM,
    findings: Sequence[Finding] | None = None,
) -> Correction:
    """What to do about the mandrel of a target, with every table of the report.

    conditions: as its newest batch unless stated. cost_ratio: cost of cutting too much over too little, 10 unless
    stated and 20 when plated. findings: those of reading the book, found out again unless given.
    A model that has not learned all of the book orders no cut. Raises BookError when the target cannot be asked about,
    when a doubt about its sizes or its mandrel's was not answered, or when the model learned another book.
    """
    said = doubts(book) if findings is None else findings
    mandrel = require_askable(book, said, target_id)
    lacking = unlearned(book, measured_batches(book, said), learned_by(model), mandrel)
    if lacking.foreign:
        what = f"model {model.version} was learned from another book: this one has none of its batches"
        raise BookError([Finding("error", book.folder, None, None, what, "a model of this book")])
    how = None if conditions is None else _conditions(conditions)
    return corrections.correct(
        LearnedShop(model), book, target_id, conditions=how, cost_ratio=cost_ratio, skive_mm=skive_mm, unlearned=lacking
    )


def describe(correction: Correction, *, units: Units = "mm") -> str:
    """The verdict of a correction and its reason, as `springfit correct` prints them."""
    verdict = correction.verdict
    return f"{verdict.verdict.upper()}: {reason_words(verdict.reason, units)}"


def validate(book: Book, findings: Sequence[Finding] = ()) -> pd.DataFrame:
    """How well left-out batches and left-out mandrels are forecast, by springfit and by plain rules.

    A row a kind left out (`batches`, `mandrels`) and method: rms and worst error over the flare [mm per side]; for
    springfit also coverage and widths of both 90 % bands and the log density. Raises ValueError without a sound bell.
    """
    checked = scores.validate(_fitted(book, findings))
    kinds = {"batches": checked.batches, "mandrels": checked.mandrels}
    return pd.DataFrame([{"left_out": kind, **asdict(score)} for kind, rows in kinds.items() for score in rows])


def training_frame(
    book: Book, findings: Sequence[Finding] = (), *, stations: int | None = STATIONS
) -> TrainingFrame:
    """X, y and groups of a book for scikit-learn: what is known of every station of every batch, and its gap [mm].

    stations: of a batch's flare, evenly among them; None for all. Raises ValueError without a sound bell.
    """
    fitted = _fitted(book, findings)
    curves = [measured_curve(fitted, batch).curve for batch in fitted.layout.facts]
    return frame_of(curves, fitted.experience, stations=stations)


def plot_forecast(forecast: Forecast, ax: Axes | None = None, *, units: Units = "mm") -> Axes:
    """The gap along the bell with both bands, on `ax` or on new axes; the axes are returned."""
    axes = _axes(ax)
    draw_forecast(axes, forecast, units=units)
    return axes


def plot_correction(correction: Correction, ax: Axes | None = None, *, units: Units = "mm") -> Axes:
    """The bell's error along it with its band, and what was measured, on `ax` or on new axes, which are returned."""
    axes = _axes(ax)
    draw_error(axes, correction, units=units)
    return axes


def _fitted(book: Book, findings: Sequence[Finding]) -> Fit:
    fitted = fit_model(calibrated_experience(book, findings))
    if fitted is None:
        raise ValueError("no sound bell of this book was measured, expected at least one to learn from")
    return fitted


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(layout="constrained")[1]


def _line(mandrel: Meridian | pd.DataFrame | str | Path) -> Meridian:
    """A mandrel's line, measured stations smoothed as steel is."""
    if isinstance(mandrel, Meridian):
        return mandrel
    if isinstance(mandrel, pd.DataFrame):
        lengths = _in_mm(mandrel.to_dict("series"))
        missing = {"z_mm", "diameter_mm"} - lengths.keys()
        if missing:
            found = ", ".join(map(str, mandrel.columns))
            raise ValueError(f"the profile has the columns {found}, expected z_mm and diameter_mm (or _in)")
        z, diameter = (cast(pd.Series, lengths[name]).to_numpy(float) for name in ("z_mm", "diameter_mm"))
        return draft_meridian(z, diameter)
    return draft_meridian(*read_profile(mandrel))


def _conditions(how: Conditions | Mapping[str, Any]) -> Conditions:
    """Conditions from the values of a row; what is missing or blank is unknown."""
    if isinstance(how, Conditions):
        return how
    known = {name: value for name, value in _in_mm(dict(how)).items() if not pd.isna(value)}
    names = {field.name for field in fields(Conditions)}
    if known.keys() - names or "alloy" not in known:
        strange = ", ".join(sorted(known.keys() - names)) or "no alloy"
        raise ValueError(f"the conditions have {strange}, expected alloy and any of {', '.join(sorted(names))}")
    return Conditions(**{"name": "conditions", **known})


def _in_mm(values: Mapping[Any, Any]) -> dict[str, Any]:
    """Values whose names end in a unit of length, in mm under their `_mm` names; the others as they are."""
    converted: dict[str, Any] = {}
    for key, value in values.items():
        name, unit = split_unit(str(key))
        converted[str(key) if unit is None else f"{name}_mm"] = value if unit is None else value * MM_PER_UNIT[unit]
    return converted
