"""Temper codes of ASTM B601 as physics: a strain put in by rolling, or a grain left by annealing."""

from __future__ import annotations

import math
import re

__all__ = ["TEMPERS", "grain_factor", "grain_size", "normal_temper", "rolling_strain"]

# Rolled tempers are steps of the Brown & Sharpe gauge, each to 0.8905 of the thickness (ASTM B601 counts
# them); the reductions 10.9, 20.7, 37.1, 50.1, 60.5 % agree with the 11, 21, 37, 50, 60 % printed in the
# Copper Development Association design guide, cold-rolled data, table 2.
GAUGE_STEP = 0.8905
TEMPERS = {
    "annealed": 0.0,
    "H00": 0.5,
    "H01": 1.0,
    "H02": 2.0,
    "H03": 3.0,
    "H04": 4.0,
    "H06": 6.0,
    "H08": 8.0,
    "H10": 10.0,
}

# Yield of annealed 70/30 against grain size d [mm]: 49.5 + 12.3/sqrt(d) MPa passes within 3 MPa of the five
# OS rows of tempers.csv (ASM Handbook vol. 2, from memory). Only its ratio is used, for every alloy.
LATTICE_STRESS, GRAIN_COEFFICIENT = 49.5, 12.3  # MPa, MPa mm^0.5
REFERENCE_GRAIN = 0.025  # mm, taken for "annealed" where the table names no grain


def normal_temper(temper: str) -> str:
    """The code in capitals, with an annealed temper that names no grain (O, O60 ...) as "annealed".

    Raises ValueError naming the code when it is not of the kind OSxxx, O.., or H00 to H10.
    """
    code = temper.strip().upper()
    if code in TEMPERS or re.fullmatch(r"OS\d{3}", code):
        return code
    if code == "ANNEALED" or re.fullmatch(r"OS?\d{0,2}", code):
        return "annealed"
    expected = "an ASTM B601 code: OS015 to OS120, O60, or one of " + ", ".join(list(TEMPERS)[1:])
    raise ValueError(f"temper: found {temper!r}, expected {expected}, or leave it blank")


def rolling_strain(temper: str) -> float:
    """Equivalent plane-strain rolling strain of a temper, (2/sqrt 3) n ln(1/0.8905) for n gauge steps [-]."""
    steps = TEMPERS.get(normal_temper(temper), 0.0)
    return 2 / math.sqrt(3) * steps * math.log(1 / GAUGE_STEP)


def grain_size(temper: str) -> float | None:
    """Grain size of an OSxxx temper, xxx in micrometres [mm]; None for any other."""
    code = normal_temper(temper)
    return float(code[2:]) / 1000 if re.fullmatch(r"OS\d{3}", code) and code != "OS000" else None


def grain_factor(grain: float) -> float:
    """Annealed yield at a grain size [mm] over that at the reference grain of 0.025 mm (Hall-Petch) [-]."""
    at = LATTICE_STRESS + GRAIN_COEFFICIENT / math.sqrt(grain)
    return at / (LATTICE_STRESS + GRAIN_COEFFICIENT / math.sqrt(REFERENCE_GRAIN))
