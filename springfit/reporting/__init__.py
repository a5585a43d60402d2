"""Reports and files: what a maker reads at the lathe and what other programs read after."""

from __future__ import annotations

from springfit.reporting.output_files import write_correction, write_prediction

__all__ = ["write_correction", "write_prediction"]
