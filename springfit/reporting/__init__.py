"""Reports and files: what a maker reads at the lathe and what other programs read after. Not one number is made here.

wording/ puts facts into sentences, figures/ draws them, pages/ sets them on screen and paper; survey_pages/ and
watching_pages/ do so for a survey and a watch, comparing/ for several ways of spinning. output_files: what a command
writes, and how it is stored.

What writes them is fetched when it is first asked for: who only lists stored reports, as the page at the bench does
when it opens, does not wait for the libraries that pages and papers are drawn with.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from springfit.reporting.output_files import write_correction, write_prediction

__all__ = ["write_correction", "write_prediction"]


def __getattr__(name: str) -> Any:
    """A public name, fetched from where files are written; AttributeError for any other."""
    if name not in __all__:
        raise AttributeError(f"springfit.reporting has no {name!r}; it has {', '.join(__all__)}")
    return getattr(importlib.import_module("springfit.reporting.output_files"), name)
