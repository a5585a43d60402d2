"""Numbers of a normal distribution that several rooms ask for, and the level of every band that is stated."""

from __future__ import annotations

__all__ = ["BAND_90", "BAND_LEVEL", "MAD_TO_SD"]

BAND_LEVEL = 0.9  # of every band that a report or a frame states: nine in ten; common practice, no source
BAND_90 = 1.645  # standard deviations each way of a normal band of that level
MAD_TO_SD = 1.4826  # standard deviation over the median of absolute values, 1 / 0.6745, the quartile of a unit normal
