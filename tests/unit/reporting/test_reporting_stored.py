"""Reports kept under their date: never overwritten, read again as they were said, and what changed since."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import numpy as np
import pytest

from springfit.reporting import write_correction
from springfit.reporting.stored_reports import file_away, newest_report, order_for
from tests.helpers.corrections.reporting_example import example_correction, example_meridian

PRINTED = "springfit.reporting.output_files."
MAY, JUNE = datetime.datetime(2025, 5, 1, 9, 30), datetime.datetime(2025, 6, 2, 10, 0)


@pytest.fixture(autouse=True)
def plainly_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers are a line and pictures none: what is kept under which date does not hang on them."""
    monkeypatch.setattr(PRINTED + "correction_paper", lambda summary, **_: summary.word.encode())
    monkeypatch.setattr(PRINTED + "card_paper", lambda *_, **__: b"card")
    monkeypatch.setattr(PRINTED + "correction_picture", lambda *_, **__: None)
    monkeypatch.setattr(PRINTED + "as_svg", lambda *_, name: f"<svg id='{name}'></svg>")
    monkeypatch.setattr(PRINTED + "as_png", lambda *_, **__: b"")


def facts(folder: Path) -> dict[str, object]:
    told: dict[str, object] = json.loads((folder / "verdict.json").read_text())
    return told


def test_a_rerun_keeps_the_report_before_it_whole_under_its_date(tmp_path: Path) -> None:
    write_correction(example_correction(), tmp_path, units="mm", now=MAY)
    said = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    write_correction(example_correction(verdict="leave"), tmp_path, units="mm", now=JUNE)
    kept = tmp_path / "earlier" / "2025-05-01_09-30-00"
    assert {path.name: path.read_bytes() for path in kept.iterdir()} == said
    assert (facts(kept)["verdict"], facts(tmp_path)["verdict"]) == ("recut", "leave")
    assert facts(tmp_path)["report_before"] == MAY.isoformat()
    write_correction(example_correction(), tmp_path, units="mm", now=JUNE)
    write_correction(example_correction(), tmp_path, units="mm", now=JUNE)
    assert len(list((tmp_path / "earlier").iterdir())) == 3  # two of one second have folders of their own


def test_three_lines_say_what_changed_and_why(tmp_path: Path) -> None:
    write_correction(example_correction(), tmp_path, units="mm", now=MAY)
    first = facts(tmp_path)
    assert first["changes"] == [] and first["batches"] == ["B004", "B007"]
    now = example_correction(verdict="wait", model_version="v0004")
    now.measured.loc[now.measured["batch_id"] == "B007", "batch_id"] = "B009"
    write_correction(now, tmp_path, units="mm", now=JUNE)
    records, verdicts, why = facts(tmp_path)["changes"]  # type: ignore[misc]
    assert "new batches B009" in records and "model v0004 (was v0003)" in records and "2025-05-01" in records
    assert "from recut to wait" in verdicts
    assert why.startswith("Why:")
    assert "Since the last report" in (tmp_path / "correction.html").read_text()


def test_an_order_is_found_by_target_and_revision_wherever_it_was_put(tmp_path: Path) -> None:
    write_correction(example_correction(), tmp_path, units="in", now=MAY)
    write_correction(example_correction(verdict="leave"), tmp_path, units="in", now=JUNE)
    report = order_for(tmp_path, "WREN-T", 2)
    assert report is not None and report.written == MAY.isoformat()
    assert order_for(tmp_path, "WREN-T", 1) is None and order_for(tmp_path, "OAK-T", 2) is None
    steel = example_meridian()
    ordered = report.ordered
    assert ordered is not None
    line, judged = ordered.on(steel)
    cut = (steel.r - np.interp(steel.z, line.z, line.r))[judged]
    told = example_correction().stations
    asked = (told["present_diameter_mm"] - told["cut_now_diameter_mm"]).to_numpy()[judged] / 2
    assert cut == pytest.approx(asked, abs=0.01)
    assert asked.max() > 0.05
    assert report.length_mm("largest_cut") == pytest.approx(0.118, abs=0.05)


def test_a_folder_with_nothing_of_ours_or_a_damaged_report_stops_nothing(tmp_path: Path) -> None:
    assert newest_report(tmp_path, "WREN-T") is None and file_away(tmp_path, ["verdict.json"]) is None
    (tmp_path / "verdict.json").write_text("{ not json")
    (tmp_path / "my-notes.txt").write_text("kept")
    write_correction(example_correction(), tmp_path, units="mm", now=MAY)
    assert (tmp_path / "my-notes.txt").read_text() == "kept"
    (away,) = (tmp_path / "earlier").iterdir()
    assert (away / "verdict.json").read_text() == "{ not json"
