"""What is left out teaches nothing of itself, bells stand about their batch, and the scores are told as they are."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.learning.experience import experience_of
from springfit.learning.fit import Fit
from springfit.learning.fitting import fit_model
from springfit.learning.forecasting.gap_forecast import Bands, GapForecast, Weighing
from springfit.learning.regression.leaving import taken_out
from springfit.learning.validation.leaving_out import forecast_fold, measured_curve, model_without
from springfit.learning.validation.plain_rules import PlainRules
from springfit.learning.validation.prediction_score import OURS, PredictionScore, score_against
from springfit.learning.validation.scores import Validation, validate
from springfit.records.reading import read_book
from springfit.reporting.figures.left_out_figure import left_out_picture, left_out_table

A_TENTH_OF_A_MICRON = 1e-4  # mm: what is left when a solve begins at another place and stops as settled
A_TWENTIETH = 0.05  # of a standard deviation: no better is one known that six batches teach
BATCHES, MANDRELS = 6, 2


@pytest.fixture(scope="module")
def fit(tmp_path_factory: pytest.TempPathFactory) -> Fit:
    folder = tmp_path_factory.mktemp("shop") / "book"
    shop = make_shop(11, batches=BATCHES, mandrels=MANDRELS, bells=4, steady=True, blanks=0.0)  # one laying a mandrel
    write_book(shop.tables, folder, units="mm")
    fitted = fit_model(experience_of(*read_book(folder)))
    assert fitted is not None
    return fitted


@pytest.fixture(scope="module")
def checked(fit: Fit) -> Validation:
    return validate(fit)


def _scored(fit: Fit, shown: Fit, batch: str) -> PredictionScore:
    """The batch forecast without itself by `fit`, held against what its bells showed in `shown`."""
    equal = Bands.equal(len(fit.solved))
    (told,) = forecast_fold(fit, [batch])
    others = {name: measured_curve(shown, name).curve for name in shown.layout.facts if name != batch}
    return score_against(told.stated(equal, equal), measured_curve(shown, batch), PlainRules.learned(others))


def _uneven(count: int, first: float, wider: float) -> Weighing:
    """Weights that differ, and widening that does."""
    weights = first ** np.arange(count)
    return Weighing(tuple((weights / weights.sum()).tolist()), tuple((wider ** np.arange(count)).tolist()))


def test_no_bell_stands_on_both_sides(fit: Fit) -> None:
    fold = list(fit.layout.facts)[:2]
    rest = model_without(fit, fold)
    assert set(rest.layout.facts) == {one.batch_id for one in rest.batches} == set(fit.layout.facts) - set(fold)
    assert rest.bells == sum(bell.batch_id not in fold for bell in fit.experience.bells)
    assert len(rest.structures) == len(fit.solved)


@pytest.mark.parametrize("whole_mandrel", [False, True])
def test_taking_out_is_never_having_had(fit: Fit, whole_mandrel: bool) -> None:
    """Structures with a fold taken out forecast it as those solved on the other batches alone do."""
    batch = next(iter(fit.layout.facts))
    mandrel_id = fit.layout.facts[batch].mandrel_id
    fold = [b for b, f in fit.layout.facts.items() if f.mandrel_id == mandrel_id] if whole_mandrel else [batch]
    never, made = model_without(fit, fold), fit.experience
    taken = [taken_out(one, fit.summaries, fit.layout, never.layout) for one in fit.solved]
    told = replace(
        never,
        structures=tuple(
            replace(one, mean=mean, covariance=covariance)
            for one, (mean, covariance) in zip(never.structures, taken, strict=True)
        ),
    )
    for one in fold:
        exact, near = (model.gap(made.meridian(one), made.conditions[one]) for model in (never, told))
        flare = exact.arc > 0.6 * exact.arc[-1]
        assert np.max((np.abs(exact.gap - near.gap) / exact.mean_sd)[flare]) < A_TWENTIETH
        assert near.mean_sd[flare] == pytest.approx(exact.mean_sd[flare], rel=A_TWENTIETH)


def test_the_readings_of_what_is_left_out_do_not_matter(fit: Fit) -> None:
    """Twice the gap in every reading of the batch, and the forecast made without it is the same."""
    batch = next(iter(fit.layout.facts))
    factor = np.where(np.array(fit.summaries.batch_ids) == batch, 2.0, 1.0)
    moment, square = fit.summaries.moment * factor[:, None], fit.summaries.square * factor**2
    other = replace(fit, summaries=replace(fit.summaries, moment=moment, square=square))
    told, again = _scored(fit, fit, batch), _scored(other, fit, batch)
    for name, error in told.errors.items():
        assert again.errors[name] == pytest.approx(error, abs=A_TENTH_OF_A_MICRON), name
    elsewhere = next(b for b in fit.layout.facts if b != batch)
    known, before = _scored(other, fit, elsewhere), _scored(fit, fit, elsewhere)
    assert np.max(np.abs(known.errors[OURS] - before.errors[OURS])) > 10 * A_TENTH_OF_A_MICRON


def test_one_bell_is_less_sure_than_a_mean(fit: Fit) -> None:
    for batch in fit.layout.facts:
        told = _scored(fit, fit, batch)
        assert told.width_bell_mm > told.width_mm
        assert 0.0 <= told.cover_bell <= 1.0


@pytest.mark.parametrize("whole_mandrel", [False, True])
def test_what_is_scored_is_what_is_asked(fit: Fit, whole_mandrel: bool) -> None:
    """A left-out forecast is `SpringModel.gap` of the model without the fold, number for number, whatever the bands."""
    count, batch = len(fit.solved), next(iter(fit.layout.facts))
    known = Bands(_uneven(count, 0.6, 1.3), _uneven(count, 1.7, 0.9))
    new = Bands(_uneven(count, 2.1, 1.1), _uneven(count, 0.4, 1.6))
    mandrel_id = fit.layout.facts[batch].mandrel_id
    fold = (
        [b for b, f in fit.layout.facts.items() if f.mandrel_id == mandrel_id] if whole_mandrel else [batch]
    )
    model = replace(model_without(fit, fold), known=known, new=new)
    told = forecast_fold(fit, fold)
    assert [one.batch_id for one in told] == fold
    for one in told:
        assert one.known is not whole_mandrel
        made = fit.experience
        asked = replace(made.conditions[one.batch_id], back_passes=0)
        wanted = model.gap(made.meridian(one.batch_id), asked, stage=made.measured_bases[one.batch_id].stage)
        stated = one.stated(known, new)
        for field in fields(GapForecast):
            assert np.array_equal(getattr(stated, field.name), getattr(wanted, field.name)), field.name


def test_springback_known_beats_none(checked: Validation) -> None:
    scores = {score.method: score for score in checked.batches}
    assert len(checked.mandrels) == len(checked.batches)
    assert scores[OURS].rms_mm < scores["no springback"].rms_mm


def test_the_table_is_in_the_unit_of_the_book(checked: Validation) -> None:
    ours = checked.batches[0]
    in_mm, in_thou = left_out_table(checked, "mm"), left_out_table(checked, "in")
    assert f"{ours.rms_mm:.3f}" in in_mm.splitlines()[1]
    assert f"{ours.rms_mm / 0.0254:.1f}" in in_thou.splitlines()[1]
    assert "thou over the flare" in in_thou and "mm over the flare" in in_mm
    learners = ("ridge", "Gaussian process", "gradient boosting")
    assert not any(name in in_mm for name in learners)  # the picture names them, for whoever wants that
    best = min(score.rms_mm for score in checked.batches if score.method in learners)
    assert next(line for line in in_mm.splitlines() if line.startswith("general learners")).split()[2] == f"{best:.3f}"
    assert "too few batches" in left_out_table(replace(checked, batches=()), "mm")


def test_the_picture_has_a_row_for_every_method(checked: Validation) -> None:
    axes = left_out_picture(checked, "mm").axes[0]
    assert [label.get_text() for label in axes.get_yticklabels()] == [s.method for s in checked.batches]
    discs = next(line for line in axes.lines if str(line.get_label()).startswith("batches"))
    assert discs.get_xdata() == pytest.approx([score.rms_mm for score in checked.batches])
