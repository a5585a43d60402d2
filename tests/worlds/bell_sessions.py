"""What a shop measures of each bell: gauges drawn by seed, and the sessions of one bell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .hands import Gauge, Hands, Row, Setting
from .sprung_bell import SprungBell

__all__ = ["Bench", "drawn_bench", "spun_rows", "trimmed_rows"]


@dataclass(frozen=True)
class Bench:
    """A shop's gauges and hands, and its habits: shares of bells traced, felt, ringed, with walls, by datum."""

    hands: Hands
    gauges: dict[str, Gauge]
    traced: float
    felt: float
    ringed: float
    walled: float
    datums: dict[str, float]
    dense_mm: float


def drawn_bench(rng: np.random.Generator, *, inch: bool) -> Bench:
    """A shop's bench: gauges of 0.004 to 0.02 mm, seats by hand of 0.1 to 0.8 mm, as the record book expects."""

    def gauge(
        name: str, what: str, value: tuple[float, float], station: tuple[float, float], ball: float = 0.0
    ) -> Gauge:
        sd = float(np.round(rng.uniform(*value), 4))
        return Gauge(name, what, sd, float(np.round(rng.uniform(*station), 3)), ball, 0.5 * sd * float(rng.normal()))

    gauges = [
        gauge("MIC", "outside micrometer at a scribed station", (0.004, 0.012), (0.05, 0.15)),
        gauge("FEEL", "feeler leaves between seated bell and mandrel", (0.015, 0.025), (0.2, 0.3)),
        gauge("BALL", "ball micrometer, wall", (0.004, 0.006), (0.8, 1.2)),
        gauge("TRACE", "stylus trace on the lathe", (0.007, 0.015), (0.03, 0.05), float(rng.choice([0.5, 0.8, 1.0]))),
        gauge("RING", "ring gauges dropped on the outside", (0.003, 0.005), (0.04, 0.08)),
    ]
    tail, witness, rim, free = rng.dirichlet([3.0, 4.0, 2.0, 0.25])
    hands = Hands(rng, float(rng.uniform(0.1, 0.8)), float(rng.uniform(0.04, 0.09)), 0.127 if inch else 0.1)
    return Bench(
        hands, {g.gauge_id: g for g in gauges},
        traced=float(rng.uniform(0.0, 0.5)), felt=float(rng.uniform(0.2, 0.7)), ringed=float(rng.uniform(0.0, 0.25)),
        walled=float(rng.uniform(0.2, 0.6)),
        datums={"tail": float(tail), "witness": float(witness), "rim": float(rim), "free": float(free)},
        dense_mm=float(rng.uniform(5.0, 9.0)),
    )  # fmt: skip


def trimmed_rows(bell: SprungBell, bench: Bench, *, datum: str, witness_z: float) -> list[Row]:
    """Every reading of one finished bell."""
    hands, rng, gauges = bench.hands, bench.hands.rng, bench.gauges
    setting = hands.setting(bell, datum, witness_z)
    traced = rng.random() < bench.traced
    rows = _outside_rows(bell, bench, setting, gauges["TRACE" if traced else "MIC"])
    length = float(bell.s[-1])
    if rng.random() < bench.ringed:
        rim = 2.0 * float(bell.r[-1])
        rows += hands.rings(bell, setting, np.arange(np.ceil(0.4 * rim / 10.0) * 10.0, rim, 10.0), gauges["RING"])
    if rng.random() < bench.felt:
        arcs = length - np.array([100.0, 75.0, 50.0, 33.0, 20.0, 10.0, 3.0])
        seated = setting if datum == "tail" else hands.setting(bell, "tail", witness_z)
        step = hands.step_mm
        stations = np.round(np.interp(arcs, bell.s, bell.steel_z) / step) * step
        rows += hands.feelers(bell, seated, np.unique(stations), gauges["FEEL"])
    if rng.random() < bench.walled and datum != "rim":
        stations = hands.stations(bell, setting, length * np.array([0.4, 0.6, 0.75, 0.87, 0.96]))
        rows += hands.walls(bell, setting, stations, gauges["BALL"])
    return [{"stage": "trimmed", **row} for row in rows]


def spun_rows(bell: SprungBell, bench: Bench, *, datum: str, witness_z: float) -> list[Row]:
    """Outside diameters of one bell before it is trimmed."""
    setting = bench.hands.setting(bell, datum, witness_z)
    return [{"stage": "spun", **row} for row in _outside_rows(bell, bench, setting, bench.gauges["MIC"])]


def _outside_rows(bell: SprungBell, bench: Bench, setting: Setting, gauge: Gauge) -> list[Row]:
    length, hands = float(bell.s[-1]), bench.hands
    stylus = gauge.ball_radius_mm > 0.0
    dense = 0.4 * bench.dense_mm if stylus else bench.dense_mm
    turn = 0.55 * length
    arcs = np.concatenate([np.arange(0.15 * length, turn - 8.0, 35.0), np.arange(turn, length - 1.5, dense)])
    stations = hands.stations(bell, setting, arcs)
    return hands.outside(bell, setting, stations, gauge, [None] if stylus else [0.0, 90.0])
