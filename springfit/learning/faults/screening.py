"""Which bells may be learned from: those that can be of their steel, less the stretches springback cannot explain."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from springfit.learning.data.observations import Bell
from springfit.learning.experience import Experience
from springfit.learning.faults.fault_search import Explained, LocalFault, stands_off, without
from springfit.learning.regression.hierarchy import local_jacobian
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.summaries import Columns, Summaries
from springfit.learning.set_aside import AnotherSteel, BeyondReach, OneReadingOff, SetAside, UnlikeItsBatch

__all__ = ["explained", "of_this_steel", "sound"]

Floats = NDArray[np.float64]


def of_this_steel(experience: Experience) -> Experience:
    """The experience without bells that cannot be of the steel they are booked on; those are set aside."""
    kept, strangers = [], []
    for bell in experience.bells:
        if len(bell.gap) and stands_off(bell, bell.envelope):
            strangers.append(SetAside(bell.bell_id, bell.batch_id, AnotherSteel()))
        elif len(bell.gap):
            kept.append(bell)
    return replace(experience, bells=tuple(kept), set_aside=(*experience.set_aside, *strangers))


def explained(bell: Bell, columns: Columns, k: Floats, spreads: Spreads) -> Explained:
    """What springback says of a bell's rows when its batch's shared coefficients are `k` (columns.shared,)."""
    jacobian = bell.design @ local_jacobian(columns, k)
    variance = spreads.local_variance(Summaries.datums_of(bell))[0]
    seats = columns.all - columns.shared - 1
    variance[seats + 1 : seats + 3] += np.array([spreads["batch_hoop"], spreads["batch_along"]]) ** 2
    return Explained(bell.design[:, : columns.shared] @ k, jacobian, variance, bell.envelope)


def sound(experience: Experience, candidates: Iterable[Bell], faults: tuple[LocalFault, ...]) -> Experience:
    """The experience of `candidates` without their `faults`, each listed."""
    by_bell: dict[str, tuple[LocalFault, ...]] = {}
    for fault in faults:
        by_bell[fault.bell_id] = (*by_bell.get(fault.bell_id, ()), fault)
    kept = [without(bell, by_bell.get(bell.bell_id, ())) for bell in candidates]
    aside = tuple(SetAside(f.bell_id, f.batch_id, _why(f)) for f in faults)
    bells = tuple(bell for bell in kept if bell is not None)
    return replace(experience, bells=bells, set_aside=(*experience.set_aside, *aside))


def _why(fault: LocalFault) -> UnlikeItsBatch | OneReadingOff | BeyondReach:
    if fault.whole:
        return UnlikeItsBatch(fault.size)
    if fault.alone:
        return OneReadingOff(fault.size, fault.arc_from)
    return BeyondReach(fault.size, (fault.arc_from + fault.arc_to) / 2)
