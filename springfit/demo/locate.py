"""Where the demo shop's records lie: beside the sources in a clone, inside the package once installed."""

from __future__ import annotations

from pathlib import Path

__all__ = ["demo_folder"]


def demo_folder() -> Path:
    """The folder that holds demo-shop/, draft_mandrel.csv and draft_conditions.csv.

    An installation carries them as the package's own data (pyproject.toml lays `datasets` there); an editable one
    and a clone read the committed `datasets` itself. FileNotFoundError when neither is there.
    """
    package = Path(__file__).resolve().parent
    places = (package / "data", package.parents[1] / "datasets")
    for place in places:
        if (place / "demo-shop" / "mandrels.csv").is_file():
            return place
    raise FileNotFoundError(
        f"the demo shop: found neither {places[0]} nor {places[1]}, expected one of them; "
        "install springfit again from a whole clone"
    )
