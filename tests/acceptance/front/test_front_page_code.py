"""The ten lines of Python on the first page, run as they stand, in a folder with a small shop under the demo's name."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import matplotlib
import pytest

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.locate import demo_folder
from springfit.demo.many_shops import make_shop
from tests.helpers.repository import ROOT

MOST_LINES = 10


def lines_of_python() -> list[str]:
    """The indented block of README.md that begins with `import springfit`."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"^    import springfit\n(?:    .*\n|\n(?=    ))+", text, re.MULTILINE)
    return [line[4:] for line in block.splitlines() if line.strip()]


def test_the_ten_lines_of_the_first_page_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = lines_of_python()
    assert len(lines) <= MOST_LINES
    tables = make_shop(11, batches=4, mandrels=1, bells=3, steady=True, blanks=0.0).tables
    target = tables["targets"]["target_id"].iloc[0]
    for name in ("targets", "target_profile"):
        tables[name] = tables[name].assign(target_id=tables[name]["target_id"].replace(target, "WREN-bell"))
    write_book(tables, tmp_path / "datasets" / "demo-shop", units="mm")
    shutil.copy(demo_folder() / "draft_mandrel.csv", tmp_path / "datasets")
    monkeypatch.chdir(tmp_path)
    matplotlib.use("agg")
    names: dict[str, object] = {}
    exec("\n".join(lines), names)
    assert (tmp_path / "gap.png").stat().st_size > 0
    said = capsys.readouterr().out
    assert "bell_diameter_mm" in said
    assert re.search(r"^(LEAVE|SLIDE|PROCESS|WAIT|RECUT|NEW_FLARE): ", said, re.MULTILINE)
    assert len(names["X"]) == len(names["y"]) == len(names["groups"])  # type: ignore[arg-type]
