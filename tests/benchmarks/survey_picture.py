"""The picture of a survey in the README, drawn anew: python -m tests.benchmarks.survey_picture"""

from __future__ import annotations

from springfit.records.reading import read_book
from springfit.reporting.figures.images import as_png
from springfit.reporting.figures.survey_figure import survey_picture
from springfit.survey.family_survey import survey_family
from tests.helpers.repository import DATASETS, ROOT


def main() -> None:
    book, _ = read_book(DATASETS / "demo-old-shop")
    picture = as_png(survey_picture(survey_family(book, "LINNET"), units="in"), dots_per_inch=100)
    (ROOT / "reports" / "sample" / "survey_overlay.png").write_bytes(picture)


if __name__ == "__main__":
    main()
