"""What someone new to a page misread, each held as it is put now."""

from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.dates import num2date
from matplotlib.text import Text
from pypdf import PdfReader

from springfit.decisions.verdict import reasons as why
from springfit.decisions.verdict.settling import Settling
from springfit.reporting.figures.bell_axes import round_places
from springfit.reporting.figures.bell_figures import correction_picture
from springfit.reporting.figures.forecast_figure import forecast_picture
from springfit.reporting.pages.card import card_paper
from springfit.reporting.pages.correction_summary import summarise
from springfit.reporting.pages.html import correction_page
from springfit.reporting.pages.paper import PageBuilder
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.watching_pages.history_figure import _months
from springfit.reporting.wording.reason_wording import reason_words
from springfit.reporting.wording.verdict_wording import unbroken
from tests.helpers.corrections.reporting_example import example_correction, example_forecast, example_meridian

MM_PER_INCH = 25.4


def card_words(correction: object, units: str = "mm") -> str:
    """The words of a card."""
    data = card_paper(correction, summarise(correction, units=units), units=units, paper="a4")
    pages = PdfReader(io.BytesIO(data)).pages
    assert len(pages) == 1
    return " ".join(pages[0].extract_text().split())


def test_a_table_of_many_columns_folds_on_a_telephone_and_the_cut_table_does_not():
    summary = summarise(example_correction(), units="mm")
    page = correction_page(summary, picture="<svg/>", narrow="<svg/>", stations=Sheet("Every station", "", (), ()))
    bells, cut = (page[page.index(title) :] for title in ("<h2>The bells of this mandrel", "<h2>Cut table"))
    assert bells[bells.index("<table") :].startswith('<table class="fold">')
    assert cut[cut.index("<table") :].startswith("<table>")


@pytest.mark.parametrize(("error", "way"), [(-0.35, "too small"), (0.35, "too large")])
def test_an_error_says_which_way_and_a_cut_of_nothing_is_none(error: float, way: str):
    for said in (
        reason_words(why.NotSureEnough(error, 401.0, 0.0001, 0.025, 3), "mm"),
        reason_words(why.NothingWouldSettle(error, 401.0, 0.0, 20), "mm"),
    ):
        assert f"0.350 mm per side {way} at z 401.0 mm" in said
        assert "no cut is sure enough" in said and "0.000" not in said
    assert "only 0.010 mm of cut is sure enough" in reason_words(why.NotSureEnough(error, 401.0, 0.01, 0.025, 3), "mm")


@pytest.mark.parametrize("answered", [True, False])
def test_a_chance_that_stays_is_not_lowered(answered: bool):
    lowered, stays = (
        reason_words(why.SureCut(0.118, 412.0, 0.2, 405.0, answered, 0.994, after, 0.0), "mm") for after in (0.4, 0.991)
    )
    assert "lowers the chance of a batch out of tolerance from 99 % to 40 %" in lowered
    assert "the chance of a batch out of tolerance stays at 99 %" in stays and "lowers" not in stays


def test_what_settles_more_than_batches_stands_in_the_advice():
    read = Settling("station", 2.0, z_mm=275.6, slope_rad=1.2)
    batch = Settling("batches", 1.0, batches=1)
    sooner, later = (
        summarise(example_correction(verdict="wait", settling=told), units="mm")
        for told in ((read, batch), (batch, read))
    )
    first = "Read z\u00a0275.6\u00a0mm (Ø\u00a019.1) on the 4 bells of batch B007."
    assert sooner.action.startswith(f"Do not cut yet. {first}")
    assert "If that does not settle it: spin and measure 3 more batches" in sooner.action
    assert later.action == "Do not cut yet. Spin and measure 3 more batches first."
    assert sooner.settling[1] == "2. Spin and measure 1 more batch."


def test_errors_in_an_inch_report_are_in_thou_like_page_one():
    correction = example_correction()
    head, rows = (lambda sheet: (sheet.head, sheet.rows))(summarise(correction, units="in").tables.errors)
    z, error = (np.array([float(row[head.index(name)]) for row in rows]) for name in ("z", "bell error"))
    meant = np.interp(z * MM_PER_INCH, correction.stations.z_mm, correction.stations.error_mm) / MM_PER_INCH * 1000.0
    np.testing.assert_allclose(error, meant, atol=0.06)  # a tenth of a thou is printed


def test_the_largest_measured_counts_only_the_bells_it_is_a_mean_of():
    number = summarise(example_correction(), units="mm").numbers[4]
    assert "1 batch spun like this, 4 bells" in number.detail and "sd" not in number.detail


def test_nothing_is_forecast_in_words_where_nothing_is_judged():
    correction = example_correction()
    correction.case.open[:] = False
    sheet = summarise(correction, units="mm").tables.bells
    assert {row[sheet.head.index("forecast")] for row in sheet.rows} == {"not judged"}


def test_the_card_says_where_to_keep_off_and_what_the_cut_counts_on():
    correction = example_correction()
    correction.verdict.slide_mm = 0.1
    stations = correction.stations
    between = stations["z_mm"].between(390.0, 400.0)
    stations.loc[between, "cut_now_diameter_mm"] = stations.loc[between, "present_diameter_mm"]
    words = card_words(correction)
    assert " and z " in words[words.index("Cut only") : words.index(": leave the steel elsewhere")]
    assert "the bell being set 0.100 mm nearer the rim" in words


def test_the_card_of_a_new_flare_turns_nothing_of_the_old_one():
    correction = example_correction()
    correction.verdict.verdict = "new_flare"
    words = card_words(correction)
    assert "Turn only this" not in words and "Ø now" not in words and "A new flare: its sizes" in words


def test_a_cut_that_the_skive_takes_has_no_column_to_turn_to():
    correction = example_correction()
    correction.cut_table["diameter_mm"] = correction.cut_table["present_diameter_mm"]
    summary = summarise(correction, units="mm")
    assert "nothing to turn" in summary.tables.cut_table.note and "Ø turn" not in summary.tables.cut_table.head
    assert "Skive only this" in card_words(correction) and "turn to" not in card_words(correction)


def test_no_page_has_nothing_on_it_and_no_title_stands_alone():
    builder = PageBuilder("letter")
    row = builder.text("a row", 10.0, after=0.0)
    full = next(count for count in range(50, 100) if builder.printed([row] * (count + 1), title="", foot="")[0] == 2)
    assert builder.printed([row] * full + [builder.gap(30.0)], title="", foot="")[0] == 1
    untold = builder.sheet(Sheet("Facets", "None found.", (), ()), size=9.0, room=1.0)
    pages = PdfReader(io.BytesIO(builder.printed([row] * (full - 1) + untold, title="", foot="")[1])).pages
    assert "Facets" not in pages[0].extract_text() and "Facets" in pages[1].extract_text()


def test_no_line_ends_between_a_name_and_its_number():
    assert unbroken("steel -0.082, at z 12.3 and Ø 4.34") == "steel\u00a0-0.082, at z\u00a012.3 and Ø\u00a04.34"


def test_ticks_stand_at_round_places_in_every_form_of_a_picture():
    steel = example_meridian()
    at = np.interp(round_places(steel.s, steel.z, "in", ticks=4), steel.s, steel.z)[1:-1] / MM_PER_INCH
    np.testing.assert_allclose(at * 10.0, np.round(at * 10.0), atol=1e-3)
    for narrow in (False, True):
        ticks = np.diff(forecast_picture(example_forecast(), units="in", narrow=narrow).axes[0].get_yticks())
        first = float(f"{ticks[0]:e}"[0])
        assert first in (1.0, 2.0, 5.0)


@pytest.mark.parametrize(("days", "most"), [(30.0, 4), (400.0, 4), (1000.0, 8), (20000.0, 4)])
def test_dates_are_few_and_begin_months(days: float, most: int):
    told = _months(19000.0, 19000.0 + days, most=most)
    assert 1 <= len(told) <= most
    assert all(num2date(day).day == 1 for day in told)


def test_the_place_of_a_fault_is_named_over_the_profile():
    correction = example_correction(verdict="process")
    fault = SimpleNamespace(bells=("a", "b"), bells_seen=4, size_mm=0.4)
    elsewhere = why.ErrorWithinTolerance(0.03, 300.0, 0.05)
    correction.verdict.reason = why.ProcessFault(fault, 250.0, 300.0, "leave", elsewhere)
    words = [text.get_text() for text in correction_picture(correction, units="mm").axes[0].findobj(Text)]
    assert any("fault in the\nspinning, z 250.0 to 300.0 mm" in said for said in words)
