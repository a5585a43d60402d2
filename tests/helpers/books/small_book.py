"""A small sound record book of an invented shop, as rows of text that a test may spoil.

Two mandrels with an exponential flare, OAK (0.02 mm larger since it was plated in May: revision 1) and ASH;
three batches, four bells. The bells lie some 0.02 mm off the steel, their walls are 0.5 mm.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable
from pathlib import Path

Rows = list[list[str]]
Sheets = dict[str, Rows]

PLATING = 0.02  # mm of diameter that OAK gained
WALL = 0.5
GAP = 0.02
DRAWN = "320"  # mm
STATIONS = [20.0 * n for n in range(21)]  # 0 to 400 mm
OAK, ASH = (12.0, 100.0, 45.0), (15.0, 140.0, 60.0)  # tail diameter, flare at z = 400, length of the flare


def diameter(steel: tuple[float, float, float], z: float) -> float:
    """Diameter [mm] of the steel at z [mm]."""
    return steel[0] + steel[1] * math.exp((z - 400) / steel[2])


def outside(steel: tuple[float, float, float], z: float, gap: float = GAP) -> float:
    """Outside diameter [mm] of a bell that lies `gap` off the steel."""
    slope = math.atan(steel[1] / steel[2] * math.exp((z - 400) / steel[2]) / 2)
    return diameter(steel, z) + 2 * (WALL + gap) / math.cos(slope)


def sheets() -> Sheets:
    """The sound book: file name to rows, the header first; lengths in mm."""
    profile = [["mandrel_id", "revision", "z_mm", "diameter_mm"]]
    for name, revision, steel, more in (("OAK", 0, OAK, 0.0), ("OAK", 1, OAK, PLATING), ("ASH", 0, ASH, 0.0)):
        profile += [[name, str(revision), f"{z:g}", f"{diameter(steel, z) + more:.4f}"] for z in STATIONS]
    return {
        "mandrels.csv": _rows(
            "mandrel_id,revision,in_force_from,finish,steel,note",
            "OAK,0,2025-01-01,bare,tool steel,",
            "OAK,1,2025-05-01,plated_matte,tool steel,",
            "ASH,0,2025-01-01,bare,,",
        ),
        "mandrel_profile.csv": profile,
        "targets.csv": _rows("target_id,mandrel_id,tolerance_mm,slide_mm,note", "OAK-T,OAK,0.05,0.5,"),
        "target_profile.csv": [
            ["target_id", "z_mm", "diameter_mm"],
            *(["OAK-T", f"{z:g}", f"{diameter(OAK, z):.4f}"] for z in STATIONS),
        ],
        "batches.csv": _rows(
            "batch_id,spun_on,mandrel_id,alloy,temper,wall_mm,anneal,passes,tool_nose_mm,blank_rim_mm,"
            "finished_rim_mm,note",
            "B1,2025-03-01,OAK,C26000,OS035,0.5,full,3,8,112,100,",
            "B2,2025-03-08,ASH,C26000,,0.5,full,2,8,150,140,",
            "B3,2025-06-01,OAK,C26000,OS035,0.5,partial,3,8,112,100,",
        ),
        "bells.csv": _rows(
            "bell_id,batch_id,order_in_batch,witness_z_mm,verdict,note",
            "B1-1,B1,1,380,good,",
            "B1-2,B1,2,,good,",
            "B2-1,B2,1,,good,",
            "B3-1,B3,1,,rework,",
        ),
        "measurements.csv": _measurements(),
        "gauges.csv": _rows(
            "gauge_id,what,repeatability_mm,station_mm,ball_radius_mm",
            "MIC,micrometer,0.006,0.1,",
            "FEEL,feeler,0.02,0.25,",
        ),
    }


def drawn(book: Sheets) -> Sheets:
    """The book with where drawing stopped written down: of a blank one a forecast lays three, of this one."""
    header, *rows = book["batches.csv"]
    return {**book, "batches.csv": [[*header, "draw_end_mm"], *([*row, DRAWN] for row in rows)]}


def write(folder: Path, book: Sheets) -> Path:
    """Writes the sheets as CSV files into a new folder."""
    folder.mkdir(parents=True)
    for name, rows in book.items():
        (folder / name).write_bytes(text(rows).encode())
    return folder


def text(rows: Rows, separator: str = ",", line_end: str = "\n") -> str:
    """Rows as CSV text."""
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator, lineterminator=line_end).writerows(rows)
    return stream.getvalue()


def change(
    rows: Rows, column: str, new: Callable[[str], str], *, where: dict[str, str] | None = None
) -> None:
    """Changes a column's cells in every row whose other cells are as `where` says."""
    header = rows[0]
    place = header.index(column)
    for row in rows[1:]:
        if all(row[header.index(name)] == cell for name, cell in (where or {}).items()):
            row[place] = new(row[place])


def _measurements() -> Rows:
    rows = [["bell_id", "stage", "kind", "datum", "z_mm", "value_mm", "angle_deg", "gauge_id"]]
    bells = (("B1-1", OAK, GAP), ("B1-2", OAK, 0.045), ("B2-1", ASH, GAP), ("B3-1", OAK, GAP + PLATING / 2))
    for bell, steel, gap in bells:
        for z in (10.0 * n for n in range(4, 38)):
            value = f"{outside(steel, z, gap):.3f}"
            rows.append([bell, "trimmed", "outside_diameter", "tail", f"{z:g}", value, "0", "MIC"])
        rows.append([bell, "trimmed", "wall", "tail", "200", "0.49", "", "MIC"])
        rows.append([bell, "trimmed", "clearance", "tail", "300", "0.03", "", "FEEL"])
    rows.append(
        ["B1-1", "trimmed", "outside_diameter", "witness", "300", f"{outside(OAK, 300):.3f}", "", "MIC"]
    )
    return rows


def _rows(*lines: str) -> Rows:
    return [line.split(",") for line in lines]
