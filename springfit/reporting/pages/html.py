"""Pages that need nothing but themselves: every value escaped, pictures and style inside."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from typing import TYPE_CHECKING, Any

from springfit.reporting.pages.printed_tables import Sheet

if TYPE_CHECKING:
    from springfit.reporting.pages.correction_summary import Summary
    from springfit.reporting.pages.prediction_summary import ComparisonSummary, ForecastSummary

__all__ = ["correction_page", "prediction_page", "rendered"]

_TEMPLATES = "springfit.reporting.pages"


def correction_page(summary: Summary, *, picture: str, narrow: str, stations: Sheet) -> str:
    """The correction report; `picture`, and `narrow` for a telephone, are `<svg>` elements, `stations` the table of
    every station."""
    from markupsafe import Markup

    pictures = {"picture": Markup(picture), "narrow": Markup(narrow)}
    return rendered("correction.html", summary=summary, stations=stations, **pictures)


def prediction_page(
    summaries: Sequence[ForecastSummary],
    *,
    pictures: Sequence[tuple[str, str]],
    units_line: str,
    compared: tuple[ComparisonSummary, str, str] | None = None,
) -> str:
    """The prediction report, one section a set of conditions; `pictures` are `<svg>` elements in order, wide, and
    narrow for a telephone. What several conditions differ by comes first: `compared`, with its pictures."""
    from markupsafe import Markup

    side_by_side = None if compared is None else (compared[0], *map(Markup, compared[1:]))
    shown = [(summary, *map(Markup, both)) for summary, both in zip(summaries, pictures, strict=True)]
    return rendered("prediction.html", summaries=shown, units_line=units_line, compared=side_by_side)


def rendered(name: str, **values: Any) -> str:
    """A template of this package filled with `values`; a value that is missing is an error, not a blank."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader(_TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    style = resources.files(_TEMPLATES).joinpath("templates", "style.css").read_text("utf-8")
    return environment.get_template(name).render(style=Markup(style), **values)
