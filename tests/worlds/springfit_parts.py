"""All that these worlds take from springfit, in one place: the laying run, the linear shell, and the reading of books."""

from __future__ import annotations

from springfit.mechanics.laying import Laid, LayingCase, lay
from springfit.mechanics.laying_material import FlowCurve
from springfit.mechanics.laying_preform import bubble
from springfit.mechanics.shell import ShellOfRevolution

__all__ = ["FlowCurve", "Laid", "LayingCase", "ShellOfRevolution", "bubble", "lay"]
