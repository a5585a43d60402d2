"""Writing the files of a watch, all or none."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from springfit.files import write_files
from springfit.reporting.figures.images import as_png, as_svg
from springfit.reporting.pages.exported_tables import DATA_DECIMALS, csv_bytes
from springfit.reporting.pages.paper import Paper
from springfit.reporting.stored_reports import file_away
from springfit.reporting.watching_pages.batch_figures import chart_picture, multiples_picture
from springfit.reporting.watching_pages.history_figure import history_picture
from springfit.reporting.watching_pages.history_wording import history_lines
from springfit.reporting.watching_pages.watch_page import History, watch_page
from springfit.reporting.watching_pages.watch_paper import watch_paper
from springfit.reporting.watching_pages.watch_summary import summarise_watch
from springfit.reporting.watching_pages.watch_tables import batch_table, bell_table
from springfit.reporting.wording.length_wording import Units
from springfit.watching.history import MandrelHistory
from springfit.watching.shop_glance import MandrelRow
from springfit.watching.watch import Watch

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["write_watch"]

_PAPER: dict[Units, Paper] = {"mm": "a4", "in": "letter"}  # the paper where each unit is at home


def write_watch(
    watched: Watch, rows: Sequence[MandrelRow], histories: Sequence[MandrelHistory], out: Path, *, units: Units,
    batch_id: str = "",
) -> tuple[Path, ...]:  # fmt: skip
    """Writes bells.csv, batches.csv, watch.html and watch.pdf into the folder `out`, all or none; returns the paths.

    The page is of the batch `batch_id`, the newest unless said. Raises OSError when the folder cannot be written,
    KeyError for a batch that was not judged, ValueError where none was.
    """
    by_id = {one.judged.batch_id: one for one in watched.batches}
    if not by_id:
        raise ValueError("no batch was judged, expected at least one with readings")
    batch = by_id[batch_id or watched.batches[-1].judged.batch_id]
    summary = summarise_watch(watched, batch, rows, units=units)
    mine = watched.on(batch.judged.mandrel_id)
    mine = mine[: mine.index(batch) + 1]
    multiples, chart = multiples_picture(mine, units=units), chart_picture(mine, units=units)
    contents = {
        "bells.csv": csv_bytes(bell_table(watched, units), units, decimals=DATA_DECIMALS),
        "batches.csv": csv_bytes(batch_table(watched), units, decimals=DATA_DECIMALS),
        "watch.html": watch_page(
            summary,
            multiples=_both(multiples, multiples_picture(mine, units=units, narrow=True), "multiples"),
            chart=_both(chart, chart_picture(mine, units=units, narrow=True), "chart"),
            histories=[_history(one, number, units) for number, one in enumerate(histories)],
        ).encode("utf-8"),
        "watch.pdf": watch_paper(
            summary, multiples=as_png(multiples, dots_per_inch=240), chart=as_png(chart, dots_per_inch=240),
            paper=_PAPER[units],
        ),
    }  # fmt: skip
    file_away(out, contents)
    return write_files(contents, out)


def _history(history: MandrelHistory, number: int, units: Units) -> History:
    steel = history.batches[-1].judged.steel if history.batches else None
    name = "history" + "".join(chr(ord("a") + int(digit)) for digit in str(number))
    pictures = ("", "")
    if history.batches:
        narrow = history_picture(history, units=units, narrow=True)
        pictures = _both(history_picture(history, units=units), narrow, name)
    return History(history.mandrel_id, *pictures, history_lines(history, steel, units))


def _both(wide: Figure, narrow: Figure, name: str) -> tuple[str, str]:
    """A picture for a wide page, and for a telephone."""
    return as_svg(wide, name=name), as_svg(narrow, name=f"{name}narrow")
