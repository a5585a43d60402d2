"""The page of a survey on screen."""

from __future__ import annotations

from springfit.reporting.pages.html import rendered
from springfit.reporting.survey_pages.survey_summary import SurveySummary

__all__ = ["survey_page"]


def survey_page(summary: SurveySummary, *, picture: str, narrow: str) -> str:
    """The report of a survey of originals; `picture`, and `narrow` for a telephone, are `<svg>` elements."""
    from markupsafe import Markup

    return rendered("survey.html", summary=summary, picture=Markup(picture), narrow=Markup(narrow))
