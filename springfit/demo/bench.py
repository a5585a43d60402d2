"""What the shop measures of a bell, session by session: which gauges, where, from which datum."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from springfit.demo.measuring import Gauge, Hands, Setting
from springfit.demo.spun import SpunBell

__all__ = ["SEAT_MM", "Plan", "measured", "usual_gauges"]

SEAT_MM = {
    "bare": (0.05, 0.22),
    "plated_matte": (-0.10, 0.30),
    "plated_bright": (0.08, 0.15),
}  # usual seat, 1 sd


@dataclass(frozen=True)
class Plan:
    """What is taken of one bell; `step_mm` is what stations are rounded to, `unseated_mm` a bell not pushed
    home.
    """

    datum: str = "witness"
    spun: bool = False
    trimmed: bool = True
    outside: str = "MIC"  # gauge of the outside diameters; none when blank
    feelers: bool = True
    rings: bool = False
    inside: bool = False
    walls: bool = True
    step_mm: float = 0.1
    bore_step_mm: float = 10.0
    unseated_mm: float = 0.0


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
    return {
        g.gauge_id: Gauge(
            g.gauge_id,
            g.what,
            g.repeatability_mm,
            g.station_mm,
            g.ball_radius_mm,
            0.5 * g.repeatability_mm * float(b),
        )
        for g, b in zip(plain, shift, strict=True)
    }


def _reading_stations(bell: SpunBell, setting: Setting, plan: Plan, dense_mm: float) -> np.ndarray:
    """Reading stations, sparse on the tail, every `dense_mm` of arc over the flare's last 130 mm, as
    rounded by hand.
    """
    turn = max(bell.arc[-1] - 130.0, 0.35 * bell.arc[-1])
    arcs = np.concatenate([np.arange(30.0, turn - 10.0, 32.0), np.arange(turn, bell.arc[-1] - 2.0, dense_mm)])
    z = setting.origin_mm + setting.direction * np.interp(
        arcs, bell.arc, bell.z - bell.wall * np.sin(bell.slope)
    )
    return np.round(z / plan.step_mm) * plan.step_mm


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
    rows: list[dict] = []
    if plan.outside == "STYLUS":
        rows += hands.outside(
            bell, setting, _reading_stations(bell, setting, plan, 3.2), gauges["STYLUS"], (0.0, 90.0)
        )
    elif plan.outside:
        rows += hands.outside(
            bell, setting, _reading_stations(bell, setting, plan, 7.5), gauges[plan.outside], (0.0, 90.0)
        )
    if stage == "trimmed":
        rows += _at_the_bench(bell, plan, hands, gauges, setting, seated)
    return [{"stage": stage, **row} for row in rows]


def _at_the_bench(
    bell: SpunBell, plan: Plan, hands: Hands, gauges: dict[str, Gauge], setting: Setting, seated: Setting
) -> list[dict]:
    rows: list[dict] = []
    length = bell.arc[-1]
    round_to = lambda z: np.round(z / plan.step_mm) * plan.step_mm  # noqa: E731
    if plan.feelers:
        arcs = np.array([length - d for d in (110.0, 80.0, 55.0, 36.0, 22.0, 11.0, 3.0)])
        rows += hands.feelers(bell, seated, round_to(np.interp(arcs, bell.arc, bell.steel_z)), gauges["FEEL"])
    if plan.rings:
        step = plan.bore_step_mm
        rows += hands.rings(
            bell,
            setting,
            np.arange(np.ceil(2 * bell.r[-1] * 0.45 / step) * step, 2 * bell.r[-1] - 2.0, step),
            gauges["RING"],
        )
    if plan.inside:
        arcs = np.linspace(length - 60.0, length - 4.0, 8)
        z = setting.origin_mm + setting.direction * np.interp(arcs, bell.arc, bell.z)
        rows += hands.inside(bell, setting, round_to(z), gauges["TELE"])
    if plan.walls:
        arcs = np.array([0.25, 0.5, 0.7, 0.85, 0.97]) * length
        z = setting.origin_mm + setting.direction * np.interp(arcs, bell.arc, bell.z)
        rows += hands.walls(bell, setting, round_to(z), gauges["BALL"])
    return rows
