"""Where things lie: the repository, what is committed in it, and the sample shops, which are not."""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["DATA", "DATASETS", "DEMO", "ROOT", "sample_shops"]

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "tests" / "data"
DATASETS = ROOT / "datasets"
DEMO = DATASETS / "demo-shop"


def sample_shops() -> Path:
    """The folder of the sample shops, which need not be there."""
    return Path(os.environ.get("SPRINGFIT_SHARED", ROOT.parent / "shared"))
