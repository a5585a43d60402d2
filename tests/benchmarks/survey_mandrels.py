"""A hundred originals among six mandrels each, and fifty worn mandrels: python tests/benchmarks/survey_mandrels.py

A line and the totals of what `tests/unit/test_survey_mandrels.py` and `test_survey_copying.py` try on a few.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "unit"))
from test_survey_copying import RMS_MM, rms_off, worn_mandrel
from test_survey_mandrels import ranked_first

from springfit.survey.mandrels.copying import copied

RANKED, WORN = 100, 50


def main() -> None:
    print(f"the right one of six is first in {ranked_first(RANKED)} of {RANKED}", flush=True)
    off = []
    for seed in range(WORN):
        truth, revisions = worn_mandrel(seed)
        off.append(rms_off(copied(revisions), truth))
        print(f"worn mandrel {seed}: {off[-1]:.4f} mm", flush=True)
    print(f"first line within {RMS_MM} mm rms in {np.mean(np.array(off) < RMS_MM):.0%}, worst {max(off):.4f}")


if __name__ == "__main__":
    main()
