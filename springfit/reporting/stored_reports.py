"""Reports that were written before: kept under their date when a new one takes their place, and read again.

The newest lies in the folder itself, where scripts find it; each older one in `earlier/DATE`, as it was said.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from springfit.files import finish_files, write_folder
from springfit.lengths import MM_PER_UNIT
from springfit.watching.shop_glance import LastVerdict

if TYPE_CHECKING:
    from springfit.decisions.cut_tables.as_cut import Ordered

__all__ = ["StoredReport", "every_report", "file_away", "last_verdicts", "newest_report", "order_for"]

EARLIER, VERDICT, STATIONS = "earlier", "verdict.json", "corrected_mandrel.csv"


@dataclass(frozen=True)
class StoredReport:
    """A correction as it was reported: its `folder`, the facts of its verdict.json and when it was written."""

    folder: Path
    facts: dict[str, Any]
    written: str

    def length_mm(self, name: str) -> float:
        """A length of the verdict by its name without unit [mm]; NaN where it is not there."""
        for unit, size in MM_PER_UNIT.items():
            value = self.facts.get(f"{name}_{unit}")
            if isinstance(value, (int, float)):
                return float(value) * size
        return float("nan")

    @property
    def ordered(self) -> Ordered | None:
        """The cut it ordered; None where its table cannot be read as one."""
        from springfit.decisions.cut_tables.as_cut import Ordered

        try:
            table = pd.read_csv(self.folder / STATIONS)
            unit = next(unit for unit in MM_PER_UNIT if f"z_{unit}" in table.columns)
            z, present, now = (
                table[f"{name}_{unit}"].to_numpy(float) * MM_PER_UNIT[unit]
                for name in ("z", "present_diameter", "cut_now_diameter")
            )
            return Ordered(z, present, now, table["masked"].astype(str).str.lower().to_numpy() != "true")
        except (OSError, ValueError, KeyError, StopIteration):
            return None


def every_report(out: Path) -> tuple[StoredReport, ...]:
    """The report in `out` and all that were put away there."""
    folders = [out, *sorted(path for path in (out / EARLIER).glob("*") if path.is_dir())]
    return tuple(report for folder in folders if (report := _report(folder)) is not None)


def last_verdicts(folders: Sequence[Path]) -> tuple[LastVerdict, ...]:
    """What the reports in `folders`, and those put away there, said of their mandrels."""
    told = []
    for report in (report for folder in folders for report in every_report(folder)):
        facts = report.facts
        try:
            told.append(
                LastVerdict(
                    str(facts["mandrel_id"]), int(facts["revision"]), str(facts["target_id"]), str(facts["verdict"]),
                    report.written, report.length_mm("largest_cut"), facts.get("more_batches"),
                    tuple(map(str, facts.get("batches") or ())),
                )
            )
        except (KeyError, TypeError, ValueError):
            continue  # a report of another program's, or cut short: it says nothing of a mandrel
    return tuple(told)


def newest_report(out: Path, target_id: str) -> StoredReport | None:
    """The report of a target that lies in the folder `out` itself."""
    report = _report(out)
    return report if report is not None and report.facts.get("target_id") == target_id else None


def order_for(out: Path, target_id: str, revision: int) -> StoredReport | None:
    """The newest report in `out`, or put away there, that ordered a cut of this revision of the target's mandrel."""
    fitting = [
        report for report in every_report(out)
        if report.facts.get("target_id") == target_id and report.facts.get("revision") == revision
        and report.length_mm("largest_cut") > 0.0
    ]  # fmt: skip
    return max(fitting, key=lambda report: report.written, default=None)


def file_away(out: Path, names: Collection[str]) -> Path | None:
    """Copies those files `names` that lie in `out` to a folder of their date, all or none; None where there are none.

    The files stay where they are until new ones take their names, so that nothing is ever missing.
    """
    finish_files(out)
    there = {name: (out / name) for name in names if (out / name).is_file()}
    if not there:
        return None
    report = _report(out)
    written = report.written if report else _changed(max(there.values(), key=lambda path: path.stat().st_mtime))
    stem = written.replace(":", "-").replace("T", "_")
    place, number = out / EARLIER / stem, 1
    contents = {name: path.read_bytes() for name, path in there.items()}
    while place.exists():
        if _holds(place, contents):
            return place  # put away before, and then stopped before new ones took their names
        number += 1
        place = out / EARLIER / f"{stem}-{number}"
    write_folder(contents, place)
    return place


def _holds(place: Path, contents: Mapping[str, bytes]) -> bool:
    """Whether a folder holds these files and no others."""
    try:
        return {path.name: path.read_bytes() for path in place.iterdir()} == contents
    except OSError:
        return False


def _report(folder: Path) -> StoredReport | None:
    """The report in a folder; None where there is none that can be read."""
    path = folder / VERDICT
    try:
        finish_files(folder)
        facts = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(facts, dict):
            return None
        return StoredReport(folder, facts, str(facts.get("written") or _changed(path)))
    except (OSError, ValueError):
        return None


def _changed(path: Path) -> str:
    """When a file was last changed, to the second."""
    return datetime.datetime.fromtimestamp(path.stat().st_mtime).isoformat(timespec="seconds")
