"""The picture of a survey in the README, drawn anew: python tests/benchmarks/survey_picture.py"""

from __future__ import annotations

from pathlib import Path

from springfit.records.reading import read_book
from springfit.reporting.figures.images import as_png
from springfit.reporting.figures.survey_figure import survey_picture
from springfit.survey.family_survey import survey_family

ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    book, _ = read_book(ROOT / "datasets" / "demo-old-shop")
    picture = as_png(survey_picture(survey_family(book, "LINNET"), units="in"), dots_per_inch=100)
    (ROOT / "reports" / "sample" / "survey_overlay.png").write_bytes(picture)


if __name__ == "__main__":
    main()
