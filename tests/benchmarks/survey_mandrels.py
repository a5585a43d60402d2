"""A hundred originals among six mandrels each, and fifty worn mandrels: python -m tests.benchmarks.survey_mandrels

A line and the totals of what `test_survey_mandrels` and `test_survey_copying` try on a few.
"""

from __future__ import annotations

import numpy as np

from springfit.survey.mandrels.copying import copied
from tests.helpers.originals.ranked_mandrels import ranked_first
from tests.helpers.originals.worn_revisions import RMS_MM, rms_off, worn_mandrel

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
