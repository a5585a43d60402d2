"""A fitted shop: what each structure makes of it, while the readings are still at hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import Points
from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.coverage import coverage_of_experience
from springfit.learning.experience import Experience
from springfit.learning.faults.back_pass import BackPassHump
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.forecasting.gap_forecast import Bands
from springfit.learning.model import KnownBatch, SpringModel
from springfit.learning.regression.estimation import Solved
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.link import OWN
from springfit.learning.regression.summaries import Summaries, remainder_columns

__all__ = ["Fit"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fit:
    """A fitted shop: the experience it rests on (sound bells only), what each structure makes of it, and what was taken
    out. The first of `solved` is the one that the bells themselves bear out best: it reads them, and finds faults."""

    experience: Experience
    layout: Layout
    solved: tuple[Solved, ...]
    summaries: Summaries
    noise_scale: dict[str, float]
    faults: tuple[LocalFault, ...]
    hump: BackPassHump

    @property
    def lead(self) -> Solved:
        """The structure by which the bells are read."""
        return self.solved[0]

    def model(
        self,
        version: str = "",
        validation: Mapping[str, Mapping[str, float]] | None = None,
        *,
        known: Bands | None = None,
        new: Bands | None = None,
    ) -> SpringModel:
        """The model that stays once the readings are gone, mixed as `known` and `new` say (None: in equal parts)."""
        structures = tuple(
            FittedStructure(one.structure.name, one.spreads, one.posterior.mean, one.posterior.covariance)
            for one in self.solved
        )
        return self.model_of(
            self.experience, self.layout, structures, version, validation, known=known, new=new
        )

    def model_of(
        self, made: Experience, layout: Layout, structures: tuple[FittedStructure, ...], version: str = "",
        validation: Mapping[str, Mapping[str, float]] | None = None, *,
        known: Bands | None = None, new: Bands | None = None,
    ) -> SpringModel:
        """The model of `structures` over the unknowns of `layout`, learned of the bells of `made`: those of this fit or
        fewer."""
        counts = Counter(bell.batch_id for bell in made.bells)
        batches = tuple(
            KnownBatch(b, f.mandrel_id, made.revision[b], made.spun_on[b], counts[b], self._largest_gap(b))
            for b, f in layout.facts.items()
        )
        newest = {
            b.mandrel_id: made.steel[b.mandrel_id, b.revision]
            for b in sorted(batches, key=lambda b: b.spun_on)
        }
        equal = Bands.equal(len(structures))
        return SpringModel(
            version=version, book_digest=made.digest, units=made.units, hand=made.hand, layout=layout,
            structures=structures,
            known=known or equal, new=new or equal, noise_scale=self.noise_scale,
            hump=self.hump, batches=batches, steel=newest, set_aside=made.set_aside, faults=self.faults,
            validation=validation or {},
            coverage=coverage_of_experience(_measured(made), dict(layout.facts), layout.levels),
        )  # fmt: skip

    def measured_gap(self, batch: str) -> tuple[Floats, Floats]:
        """Arc stations and mean gap [mm] of a batch as its bells showed it, springback only."""
        basis = self.experience.measured_bases[batch]
        return basis.arc, basis.normal @ self.lead.posterior.batches[batch].coefficients[: basis.normal.shape[1]]

    def coefficients(self, batch: str) -> Floats:
        """Shared coefficients (columns.shared,) of a batch: fitted, or expected from its features when it was not in
        the fit."""
        if batch in self.lead.posterior.batches:
            return self.lead.posterior.batches[batch].coefficients
        facts = self.experience.facts[batch]
        return self.layout.linearised_at(facts, self.lead.posterior.mean, np.zeros(OWN), self.lead.structure.link)[0]

    def flare_columns(self, batch: str, part: float) -> tuple[Floats, Points, Floats]:
        """Over the flare (past `part` of the arc) of a batch: gap columns of fields and remainder (n, columns), the
        points, and the gap of one hoop share the same everywhere (n,) [mm]."""
        basis, steel = self.experience.measured_bases[batch], self.experience.meridian(batch)
        flare = basis.arc > part * basis.arc[-1]
        remainder = remainder_columns(basis.arc, basis.slope, steel.length)
        everywhere = np.array([one.share == "hoop" and one.place >= 0 for one in FIELDS])
        unit = basis.normal[:, everywhere].sum(axis=1)
        return np.hstack((basis.normal, remainder))[flare], steel.at(basis.arc[flare]), unit[flare]

    def _largest_gap(self, batch: str) -> float:
        return float(np.max(np.abs(self.measured_gap(batch)[1])))


def _measured(experience: Experience) -> dict[str, Points]:
    """Stations every 4 mm over the measured length of each mandrel."""
    ends: dict[str, tuple[Meridian, float]] = {}
    for bell in experience.bells:
        name = experience.facts[bell.batch_id].mandrel_id
        reached = max(float(bell.arc.max()), ends[name][1] if name in ends else 0.0)
        ends[name] = (experience.meridian(bell.batch_id), reached)
    return {
        name: steel.at(np.arange(0.0, min(end, steel.length), 4.0)) for name, (steel, end) in ends.items()
    }
