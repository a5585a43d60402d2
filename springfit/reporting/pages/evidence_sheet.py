"""What the forecast of a correction rests on: the gap at the rim, recorded bells around it, how sure its bands are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.normal_errors import BAND_LEVEL
from springfit.reporting.pages.printed_tables import Sheet
from springfit.reporting.wording.length_wording import Units, amount
from springfit.reporting.wording.verdict_wording import unbroken
from springfit.reporting.wording.zones import is_cut, is_masked

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.decisions.forecast import Forecast

__all__ = ["evidence_sheet"]

_TRUST = {
    "inside": "lie among recorded bells",
    "stretched": "reach past what recorded bells cover",
    "physics_only": "rest on mechanics alone",
}


def evidence_sheet(correction: Correction, *, units: Units) -> Sheet:
    """How much the forecast knows, what it says now and after the cut."""
    judged = ~is_masked(correction.stations)
    trust = correction.stations["trust"].astype(str)[judged].value_counts(normalize=True)
    stands = ", ".join(f"{100.0 * float(share):.0f} % {_TRUST[str(name)]}" for name, share in trust.items())
    now, after = _rim_gap(correction.forecast, units), _rim_gap(correction.corrected_forecast, units)
    rows = (
        ("Gap at the rim, forecast now", now),
        *((("Gap at the rim after the cut", after),) if is_cut(correction.stations).any() and after != now else ()),
        ("Of the stations judged", stands or "none"),
        ("How well the bands are known", _known(correction.forecast.freedom)),
    )
    note = "A gap is the bell over its own mandrel, per side; an error, as on page one, is over the bell wanted."
    return Sheet("What the forecast rests on", note, ("", ""), rows)


def _known(freedom: float) -> str:
    """How many batches stand behind the bands, in words."""
    many = "hardly" if freedom < 5 else "fairly" if freedom < 20 else "well"
    return f"{many}: as {freedom + 2:.0f} batches would tell"


def _rim_gap(forecast: Forecast, units: Units) -> str:
    """The forecast gap at the rim with the band of a batch's mean."""
    low, high = (amount(float(edge[-1]), units, signed=True) for edge in forecast.mean_band(BAND_LEVEL))
    gap = amount(float(forecast.gap[-1]), units, signed=True)
    return unbroken(f"{gap} per side; nine batches in ten {low} to {high}")
