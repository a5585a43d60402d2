"""The pictures: lettering that neither overlaps nor leaves the page, rim on the right, no colour."""

from __future__ import annotations

import io
from itertools import combinations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from springfit.reporting.figures.bell_figures import correction_picture
from springfit.reporting.figures.forecast_figure import forecast_picture
from springfit.reporting.figures.images import as_png, as_svg
from tests.helpers.corrections.reporting_example import example_correction, example_forecast

VERDICTS = ("leave", "slide", "process", "wait", "recut", "new_flare")
SMALLEST = 10.0  # points at the width of the page


def pictures() -> list[tuple[str, Figure]]:
    made = [
        (f"{verdict} {units}", correction_picture(example_correction(verdict=verdict), units=units))
        for verdict in VERDICTS
        for units in ("mm", "in")
    ]
    return [*made, ("forecast", forecast_picture(example_forecast(), units="in"))]


@pytest.mark.parametrize(("name", "figure"), pictures())
def test_lettering_is_large_apart_and_on_the_page(name: str, figure: Figure):
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    page, unseen = figure.bbox, not_drawn(figure)
    words = [text for text in figure.findobj(Text) if text.get_visible() and text.get_text().strip()]
    boxes = {text: text.get_window_extent(canvas.get_renderer()) for text in words if text not in unseen}
    assert len(boxes) > 10
    for text, box in boxes.items():
        assert text.get_fontsize() >= SMALLEST, text
        assert box.x0 >= page.x0 - 1 and box.x1 <= page.x1 + 1, text
        assert box.y0 >= page.y0 - 1 and box.y1 <= page.y1 + 1, text
    clashes = [
        (one.get_text(), two.get_text())
        for (one, a), (two, b) in combinations(boxes.items(), 2)
        if min(a.x1, b.x1) - max(a.x0, b.x0) > 1 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1
    ]
    assert not clashes


def not_drawn(figure: Figure) -> set[Text]:
    """The lettering of switched-off axes, and of ticks past the ends of an axis."""
    unseen: set[Text] = set()
    for axes in figure.axes:
        low, high = sorted(axes.get_ylim())
        ticks = axes.yaxis.get_major_ticks()
        if not axes.axison:
            ticks = [*ticks, *axes.xaxis.get_major_ticks()]
        for tick in ticks:
            if not axes.axison or not low <= tick.get_loc() <= high:
                unseen |= {tick.label1, tick.label2}
    return unseen


@pytest.mark.parametrize(("name", "figure"), pictures()[-3:])
def test_only_black_grey_and_white_and_every_line_its_own_dashes(name: str, figure: Figure):
    for axes in figure.axes:
        named = [line for line in axes.lines if not line.get_label().startswith("_")]
        for line in named:
            assert len(set(to_rgb(line.get_color()))) == 1
        looks = {(str(line.get_linestyle()), dashes(line), line.get_linewidth()) for line in named}
        assert len(looks) == len(named)
    colours = np.array(Image.open(io.BytesIO(raw_png(figure))).convert("RGB")).reshape(-1, 3).astype(int)
    assert np.ptp(colours, axis=1).max() <= 2


def dashes(line: object) -> str:
    return str(line._unscaled_dash_pattern)  # type: ignore[attr-defined]


def raw_png(figure: Figure) -> bytes:
    page = io.BytesIO()
    figure.savefig(page, format="png", dpi=60)
    return page.getvalue()


@pytest.mark.parametrize("verdict", ["recut", "new_flare"])
def test_the_rim_is_on_the_right_and_the_tail_on_the_left(verdict: str):
    figure = correction_picture(example_correction(verdict=verdict), units="mm")
    for axes in figure.axes:
        left, right = axes.get_xlim()
        assert left < right
    profile = figure.axes[0]
    places = {text.get_text(): text.get_position()[0] for text in profile.texts}
    assert places["TAIL"] < places["RIM"]
    outline = profile.lines[0].get_xydata()
    assert outline[-1][1] == max(outline[:, 1])  # the wide end is the last, and so the right


def test_ticks_say_z_and_diameter_of_the_steel_there():
    correction = example_correction()
    labels = [
        label.get_text() for label in correction_picture(correction, units="mm").axes[1].get_xticklabels()
    ]
    assert labels[0] == "z 0.0\nØ 12.0" and labels[-1] == "420.0\n120.0"


def test_svg_and_png_say_the_same_and_come_out_the_same_twice():
    first, second = (
        as_svg(correction_picture(example_correction(), units="in"), name="bell") for _ in range(2)
    )
    assert first == second
    assert first.startswith("<svg") and first.endswith("</svg>") and "http" not in first
    grey = Image.open(
        io.BytesIO(as_png(correction_picture(example_correction(), units="in"), dots_per_inch=100))
    )
    assert grey.mode == "L" and grey.width == 760
