"""What drives springback in this shop: each effect with its band and size at the flare, and what cannot be told apart.

An effect is the change of the largest gap of a typical recorded batch that goes with one step of a batch feature (twice
the passes, no anneal) or with the two labels of a kind that lie furthest apart. It is *claimed* only when its band
clears zero so widely that, over all effects looked at, a false claim comes in fewer than one shop in twenty
(Sidak 1967, J. Am. Stat. Assoc. 62, 626; Bonferroni over the pairs of labels within a kind). All others were looked
for and not found, which is not the same as absent: the band says how large they may still be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.model import SpringModel
from springfit.learning.regression.layout import BatchFacts
from springfit.normal_errors import BAND_LEVEL

__all__ = ["Confounded", "Effect", "confounded", "effects_of", "typical_gap"]

Floats = NDArray[np.float64]

FALSE_CLAIMS = 0.05  # chance of one or more false claims over all effects looked at; one in twenty, as is usual
FEWEST_BATCHES = 4  # two or three batches differ in many things at once, and name none of them
# Of an effect's log multiplier, assumed: yield bounds locked-in stress, and one lever is taken not to double a gap.
LARGEST_LOG = float(np.log(2.0))
# Absolute posterior correlation beyond which two effects are not told apart; two thirds of either in common; assumed
INSEPARABLE = 0.8

# One step of each batch feature in its own unit: a fifth thicker, half as hard again, no anneal for a full one, twice
# the passes, a good hump for none, a nose twice as blunt, twice the speed. One unit of any other.
_STEPS: dict[str, float] = {
    "wall": float(np.log(1.2)), "temper": float(np.log(1.5)), "anneal": 1.0, "passes": float(np.log(2.0)), "hump": 1.0,
    "tool_nose": float(np.log(2.0)), "spindle_speed": float(np.log(2.0)),
}  # fmt: skip
Finding = Literal["never_changed", "not_found", "leaning", "found", "other_way"]


@dataclass(frozen=True)
class Effect:
    """One effect, of a feature or a kind of label by `name`, then of the first of `labels` instead of the second:
    `size_mm` [mm] what it does to the size of the largest gap of a typical batch, `low_mm` and `high_mm` its 90 % band;
    `claimed` whether the records show it, by what `finding`, of `looked_at` effects and `ways` pairs of its kind."""

    name: str
    labels: tuple[str, ...]
    size_mm: float
    low_mm: float
    high_mm: float
    claimed: bool
    finding: Finding
    looked_at: int
    ways: int


@dataclass(frozen=True)
class Confounded:
    """What the records cannot separate. `kind`: of two `names` only the sum or the difference is known; they changed
    together on `mandrel`; or that has two batches, between which everything did."""

    kind: Literal["sum", "difference", "together", "two_batches"]
    names: tuple[str, ...]
    mandrel: str = ""


@dataclass(frozen=True)
class _Look:
    """One effect as looked for: `row` (unknowns,) gives its log multiplier; `ways` pairs it was picked from, none
    where the records hold no change to learn from."""

    name: str
    labels: tuple[str, ...]
    row: Floats
    ways: int
    sign: int

    def log_size(self, model: SpringModel) -> tuple[float, float]:
        """Posterior mean and sd of the log multiplier."""
        return float(self.row @ model.lead.mean), float(np.sqrt(self.row @ model.lead.covariance @ self.row))


def typical_gap(model: SpringModel) -> float:
    """Size [mm] of the largest gap of a typical recorded batch: the median; nan where nothing was measured."""
    sizes = [batch.largest_gap for batch in model.batches]
    return float(np.median(sizes)) if sizes else float("nan")


def effects_of(model: SpringModel) -> tuple[Effect, ...]:
    """All effects looked for, the batch features first, then the kinds of label; none from two or three batches.

    A step is never longer than the recorded range of its feature, an effect never larger than `LARGEST_LOG` allows.
    Size and band follow the multiplier, typical gap x (exp(eta) - 1), eta Student t with the model's freedom. A kind
    shows the two of its labels that lie furthest apart; kinds with one label met have nothing to compare and are
    left out.
    """
    if len(model.batches) < FEWEST_BATCHES:
        return ()
    looks = _looks(model)
    looked_at = sum(look.ways > 0 for look in looks)
    return tuple(_judged(model, look, looked_at) for look in looks)


def confounded(model: SpringModel) -> tuple[Confounded, ...]:
    """What the records cannot separate, pair by pair.

    Either two effects lean on each other in the fit (posterior correlation beyond 0.8), or two things always changed
    together on one mandrel with three batches or more; with two batches every change is such and is said at once.
    """
    leaning = [
        Confounded("sum" if turn < 0 else "difference", (one.name, other.name))
        for one, other, turn in _correlated(model)
    ]
    return (*leaning, *_changed_together(model))


def _judged(model: SpringModel, look: _Look, looked_at: int) -> Effect:
    middle, sd = look.log_size(model)
    typical = typical_gap(model)
    half = float(student.ppf(0.5 + BAND_LEVEL / 2, model.freedom)) * sd
    ends = np.clip([middle, middle - half, middle + half], -LARGEST_LOG, LARGEST_LOG)
    size, low, high = (typical * float(np.expm1(eta)) for eta in ends)
    claimed = look.ways > 0 and abs(middle) > _clearance(looked_at, look.ways, model.freedom) * sd
    finding = _finding(look, claimed, middle, half)
    return Effect(look.name, look.labels, size, low, high, claimed, finding, looked_at, look.ways)


def _clearance(looked_at: int, ways: int, freedom: float) -> float:
    """Standard deviations by which an effect must clear zero."""
    each = 1.0 - (1.0 - FALSE_CLAIMS) ** (1.0 / looked_at)
    return float(student.ppf(1.0 - each / ways / 2, freedom))


def _finding(look: _Look, claimed: bool, middle: float, half: float) -> Finding:
    """What the records say of a log multiplier `middle`, in a band of `half` to both sides. One whose own band clears
    zero, but not by enough for all that was looked at, leans."""
    if not look.ways:
        return "never_changed"
    if not claimed:
        return "not_found" if abs(middle) <= half else "leaning"
    return "other_way" if look.sign and look.sign * middle < 0 else "found"


def _looks(model: SpringModel) -> list[_Look]:
    return [*_feature_looks(model), *_label_looks(model)]


def _feature_looks(model: SpringModel) -> list[_Look]:
    layout, made = model.layout, []
    start = layout.slices["effects"].start
    for place, feature in enumerate(BATCH_FEATURES):
        step = _STEPS.get(feature.name, 1.0)
        row = np.zeros(layout.size)
        known = [v for facts in layout.facts.values() if np.isfinite(v := facts.features[place])]
        row[start + place] = min(step, max(known) - min(known)) if len(set(known)) > 1 else step
        met = {_value(facts, place) for facts in layout.facts.values()} - {None}
        made.append(_Look(feature.name, (), row, int(len(met) > 1), feature.sign))
    return made


def _label_looks(model: SpringModel) -> list[_Look]:
    layout, made = model.layout, []
    for kind, levels in zip(LABELS, layout.levels, strict=True):
        if len(levels) < 2:
            continue
        part = layout.slices[kind]
        high, low = int(np.argmax(model.lead.mean[part])), int(np.argmin(model.lead.mean[part]))
        if high == low:
            high, low = 0, 1
        row = np.zeros(layout.size)
        row[part.start + high], row[part.start + low] = 1.0, -1.0
        made.append(_Look(kind, (levels[high], levels[low]), row, len(levels) * (len(levels) - 1) // 2, 0))
    return made


def _correlated(model: SpringModel) -> Iterable[tuple[_Look, _Look, float]]:
    for one, other in combinations([look for look in _looks(model) if look.ways], 2):
        turn = float(one.row @ model.lead.covariance @ other.row)
        turn /= one.log_size(model)[1] * other.log_size(model)[1]
        if abs(turn) > INSEPARABLE:
            yield one, other, turn


def _value(facts: BatchFacts, place: int) -> str | None:
    """A feature's value as a label; None where the record is blank."""
    value = float(facts.features[place])
    return None if np.isnan(value) else f"{value:.4f}"


def _recorded() -> list[tuple[str, Callable[[BatchFacts], str | None]]]:
    """All that may change from batch to batch on one mandrel: its name, and its value in a batch's facts."""
    kinds = [(kind, place) for place, kind in enumerate(LABELS) if kind != "mandrel"]
    return [
        *((each.name, lambda facts, place=place: _value(facts, place)) for place, each in enumerate(BATCH_FEATURES)),
        *((kind, lambda facts, place=place: facts.labels[place]) for kind, place in kinds),
    ]


def _changed_together(model: SpringModel) -> Iterable[Confounded]:
    by_mandrel: dict[str, list[BatchFacts]] = {}
    for facts in model.layout.facts.values():
        by_mandrel.setdefault(facts.mandrel_id, []).append(facts)
    for mandrel, batches in sorted(by_mandrel.items()):
        if len(batches) == 2:
            yield Confounded("two_batches", (), mandrel)
        for (one, value), (other, value_of_other) in combinations(_recorded(), 2):
            pairs = [(value(facts), value_of_other(facts)) for facts in batches]
            if _always_together([(a, b) for a, b in pairs if a is not None and b is not None]):
                yield Confounded("together", (one, other), mandrel)


def _always_together(pairs: list[tuple[str, str]]) -> bool:
    """Whether each value of one went with one value of the other, in three batches or more and two values or more."""
    both, one, other = set(pairs), {a for a, _ in pairs}, {b for _, b in pairs}
    return len(pairs) > 2 and len(both) == len(one) == len(other) > 1
