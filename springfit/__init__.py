"""Springback of spun brass bells, learned from a shop's own records.

    import springfit
    book, findings = springfit.read_book("datasets/demo-shop")
    model = springfit.fit(book, findings)

The names below are the front door for a notebook or a script; each is fetched when it is first asked for, so that
`import springfit` itself loads nothing. The command line stands beside it, in `cli`.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from springfit.version import __version__

if TYPE_CHECKING:
    from springfit.front_door import (
        check_book,
        correct,
        describe,
        fit,
        forecast,
        load,
        plot_correction,
        plot_forecast,
        read_book,
        training_frame,
        validate,
    )

__all__ = [
    "__version__",
    "check_book",
    "correct",
    "describe",
    "fit",
    "forecast",
    "load",
    "plot_correction",
    "plot_forecast",
    "read_book",
    "training_frame",
    "validate",
]


def __getattr__(name: str) -> Any:
    """A public name, fetched from the front door; AttributeError for any other."""
    if name not in __all__:
        raise AttributeError(f"springfit has no {name!r}; it has {', '.join(__all__)}")
    return getattr(importlib.import_module("springfit.front_door"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
