"""What several tests share: the folder of the sample shops, which lies outside the repository."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


@pytest.fixture
def shared() -> Path:
    """The folder with the sample shops, or a skip that says why."""
    beside = Path(__file__).resolve().parents[2] / "shared"
    folder = Path(os.environ.get("SPRINGFIT_SHARED", beside))
    if not folder.is_dir():
        pytest.skip("the sample shops are not here; SPRINGFIT_SHARED may name their folder")
    return folder
