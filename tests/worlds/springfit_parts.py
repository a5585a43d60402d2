"""All that these worlds take from springfit, in one place: the laying run and the linear shell."""

from __future__ import annotations

from springfit.mechanics.laying import FlowCurve, Laid, LayingCase, lay
from springfit.mechanics.laying.preform import bubble
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["FlowCurve", "Laid", "LayingCase", "ShellOfRevolution", "bubble", "lay"]
