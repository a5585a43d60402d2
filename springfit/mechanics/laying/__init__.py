"""The sheet laid on the steel by a travelling nose and let go; not the shop's files, nor what bells teach."""

from springfit.mechanics.laying.case import Laid, LayingCase
from springfit.mechanics.laying.grading import Fineness
from springfit.mechanics.laying.keeping import lay_many
from springfit.mechanics.laying.laying_down import lay
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.solver import LayingFailure

__all__ = ["Fineness", "FlowCurve", "Laid", "LayingCase", "LayingFailure", "lay", "lay_many"]
