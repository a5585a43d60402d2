"""What a correction asks of whatever has learned a shop's springback: three things and no more."""

from __future__ import annotations

from typing import Protocol

from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.geometry.meridian import Meridian
from springfit.records.conditions import Conditions

__all__ = ["Knowledge"]


class Knowledge(Protocol):
    """A learned shop as a correction sees it."""

    @property
    def version(self) -> str:
        """Name of the trained version, for the footer of every report."""

    def forecast(self, mandrel: Meridian, conditions: Conditions) -> Forecast:
        """The trimmed bell of any mandrel under stated conditions."""

    def evidence(self, mandrel_id: str, revision: int, mandrel: Meridian) -> MandrelEvidence:
        """What the bells of one mandrel revision have shown; its stations are arcs of `mandrel`."""
