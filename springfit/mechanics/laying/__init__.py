"""The sheet laid on the steel by a travelling nose and let go; not the shop's files, nor what bells teach (learning)."""

from springfit.mechanics.laying.case import Laid, LayingCase
from springfit.mechanics.laying.laying_down import lay, lay_many
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.solver import LayingFailure

__all__ = ["FlowCurve", "Laid", "LayingCase", "LayingFailure", "lay", "lay_many"]
