"""What the shop measures of a bell, session by session: which gauges, where, from which datum."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from springfit.demo.keeping.measuring import Gauge, Hands, Setting
from springfit.demo.spinning.spun import SpunBell

__all__ = ["SEAT_MM", "Plan", "measured", "usual_gauges"]

# Usual seat toward the rim and its 1 sd, by finish: matte plating grips, bright plating lets the bell home.
SEAT_MM = {"bare": (0.05, 0.22), "plated_matte": (-0.10, 0.30), "plated_bright": (0.08, 0.15)}
DENSE_MM = {"MIC": 7.5, "STYLUS": 3.2}  # arc between outside stations over the flare
ANGLES_DEG = (0.0, 90.0)  # from the seam: a ring is read twice, across and along it


@dataclass(frozen=True)
class Plan:
    """What is taken of one bell: stations to `step_mm`, the bell `unseated_mm` short of home."""

    datum: str = "witness"
    outside: str = "MIC"  # gauge of the outside diameters
    feelers: bool = True
    rings: bool = False
    inside: bool = False
    walls: bool = True
    step_mm: float = 0.1
    bore_step_mm: float = 10.0
    unseated_mm: float = 0.0

    def rounded(self, z: np.ndarray) -> np.ndarray:
        """Stations [mm] as a hand sets them."""
        return np.round(z / self.step_mm) * self.step_mm


def usual_gauges(rng: np.random.Generator | None = None) -> dict[str, Gauge]:
    """The shop's gauges by id; with `rng`, each with a fixed bias of about half its repeatability."""
    plain = [
        Gauge("MIC", "outside micrometer over the flare, at a marked station", 0.006, 0.10),
        Gauge("FEEL", "feeler leaves between seated bell and mandrel", 0.015, 0.25),
        Gauge("BALL", "ball micrometer, wall", 0.004, 1.0),
        Gauge("RING", "ring gauges dropped over the outside", 0.003, 0.06),
        Gauge("TELE", "telescoping bore gauge", 0.015, 0.20),
        Gauge("STYLUS", "ball stylus on the lathe's slide", 0.008, 0.03, 1.0),
    ]
    shift = rng.normal(size=len(plain)) if rng is not None else np.zeros(len(plain))
    biased = [
        replace(g, bias_mm=0.5 * g.repeatability_mm * float(b)) for g, b in zip(plain, shift, strict=True)
    ]
    return {gauge.gauge_id: gauge for gauge in biased}


def _reading_stations(bell: SpunBell, setting: Setting, plan: Plan, dense_mm: float) -> np.ndarray:
    """Reading stations as rounded by hand: sparse on the tail, every `dense_mm` of the last 130 mm of arc."""
    turn = max(bell.arc[-1] - 130.0, 0.35 * bell.arc[-1])
    arcs = np.concatenate([np.arange(30.0, turn - 10.0, 32.0), np.arange(turn, bell.arc[-1] - 2.0, dense_mm)])
    return plan.rounded(setting.reading_z(np.interp(arcs, bell.arc, bell.z - bell.wall * np.sin(bell.slope))))


def measured(
    bell: SpunBell,
    stage: str,
    plan: Plan,
    hands: Hands,
    gauges: dict[str, Gauge],
    *,
    witness_z: float,
    finish: str,
) -> list[dict]:
    """Every reading of one bell at one stage, as rows without `bell_id`."""
    usual, spread = SEAT_MM[finish]
    seated = hands.pushed_on(bell, usual, spread, plan.unseated_mm)
    by_datum = {
        "witness": lambda: hands.witness(bell, witness_z),
        "tail": lambda: seated,
        "rim": lambda: hands.from_rim(bell),
        "free": hands.free,
    }
    setting = by_datum[plan.datum]()
    stations = _reading_stations(bell, setting, plan, DENSE_MM[plan.outside])
    rows = hands.outside(bell, setting, stations, gauges[plan.outside], ANGLES_DEG)
    if stage == "trimmed":
        rows += _at_the_bench(bell, plan, hands, gauges, setting, seated)
    return [{"stage": stage, **row} for row in rows]


def _at_the_bench(
    bell: SpunBell, plan: Plan, hands: Hands, gauges: dict[str, Gauge], setting: Setting, seated: Setting
) -> list[dict]:
    rows: list[dict] = []
    length = bell.arc[-1]
    if plan.feelers:
        arcs = np.array([length - d for d in (110.0, 80.0, 55.0, 36.0, 22.0, 11.0, 3.0)])
        stations = plan.rounded(np.interp(arcs, bell.arc, bell.steel_z))
        rows += hands.feelers(bell, seated, stations, gauges["FEEL"])
    if plan.rings:
        step, rim = plan.bore_step_mm, 2.0 * bell.r[-1]
        bores = np.arange(np.ceil(0.45 * rim / step) * step, rim - 2.0, step)
        rows += hands.rings(bell, setting, bores, gauges["RING"])
    if plan.inside:
        arcs = np.linspace(length - 60.0, length - 4.0, 8)
        stations = plan.rounded(setting.reading_z(np.interp(arcs, bell.arc, bell.z)))
        rows += hands.inside(bell, setting, stations, gauges["TELE"])
    if plan.walls:
        arcs = np.array([0.25, 0.5, 0.7, 0.85, 0.97]) * length
        stations = plan.rounded(setting.reading_z(np.interp(arcs, bell.arc, bell.z)))
        rows += hands.walls(bell, setting, stations, gauges["BALL"])
    return rows
