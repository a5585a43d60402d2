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

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.model import SpringModel
from springfit.learning.regression.layout import BatchFacts

__all__ = ["Effect", "confounded", "effects_of", "typical_gap"]

Floats = NDArray[np.float64]

FALSE_CLAIMS = 0.05  # chance of one or more false claims over all effects looked at
BAND = 0.90
FEWEST_BATCHES = 4  # two or three batches differ in many things at once, and name none of them
LARGEST_LOG = float(np.log(2.0))  # of an effect: locked-in stress is bounded by yield, which no one lever doubles twice
INSEPARABLE = 0.8  # absolute posterior correlation beyond which two effects are not told apart

# One step of each batch feature in its own unit, and what a maker calls that step.
_STEPS: dict[str, tuple[float, str, str]] = {
    "wall": (float(np.log(1.2)), "wall", "a sheet one fifth thicker"),
    "temper": (float(np.log(1.5)), "temper", "sheet bought half as hard again"),
    "anneal": (1.0, "anneal", "no anneal instead of a full one"),
    "passes": (float(np.log(2.0)), "passes", "twice the passes"),
    "hump": (1.0, "hump", "a good hump instead of none"),
    "tool_nose": (float(np.log(2.0)), "tool nose", "a tool nose twice as blunt"),
    "spindle_speed": (float(np.log(2.0)), "spindle speed", "twice the spindle speed"),
}
_CALLED = {"mandrel": "mandrel", "alloy": "alloy", "lot": "lot", "spinner": "spinner", "draw_ring": "draw ring",
           "lubricant": "lubricant"}  # fmt: skip


@dataclass(frozen=True)
class Effect:
    """One effect: `words` name the change, `size_mm` [mm] what it does to the size of the largest gap of a typical
    batch, `low_mm` and `high_mm` its 90 % band; `claimed` whether the records show it, and the `reason`."""

    name: str
    words: str
    size_mm: float
    low_mm: float
    high_mm: float
    claimed: bool
    reason: str


@dataclass(frozen=True)
class _Look:
    """One effect as looked for: `row` (unknowns,) gives its log multiplier; `ways` pairs it was picked from, none
    where the records hold no change to learn from."""

    name: str
    called: str
    words: str
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


def confounded(model: SpringModel) -> tuple[str, ...]:
    """What the records cannot separate, a sentence a pair.

    Either two effects lean on each other in the fit (posterior correlation beyond 0.8), or two things always changed
    together on one mandrel with three batches or more; with two batches every change is such and one sentence says so.
    """
    leaning = [
        f"{_capital(one.called)} and {other.called} cannot be told apart in these records: "
        + ("only what they do together is known." if turn < 0 else "only their difference is known.")
        for one, other, turn in _correlated(model)
    ]
    return (*leaning, *_changed_together(model))


def _judged(model: SpringModel, look: _Look, looked_at: int) -> Effect:
    middle, sd = look.log_size(model)
    typical = typical_gap(model)
    half = float(student.ppf(0.5 + BAND / 2, model.freedom)) * sd
    ends = np.clip([middle, middle - half, middle + half], -LARGEST_LOG, LARGEST_LOG)
    size, low, high = (typical * float(np.expm1(eta)) for eta in ends)
    claimed = look.ways > 0 and abs(middle) > _clearance(looked_at, look.ways, model.freedom) * sd
    reason = _reason(look, claimed, middle) if claimed or abs(middle) <= half else _leaning(look, looked_at)
    return Effect(look.name, look.words, size, low, high, claimed, reason)


def _clearance(looked_at: int, ways: int, freedom: float) -> float:
    """Standard deviations by which an effect must clear zero."""
    each = 1.0 - (1.0 - FALSE_CLAIMS) ** (1.0 / looked_at)
    return float(student.ppf(1.0 - each / ways / 2, freedom))


def _reason(look: _Look, claimed: bool, middle: float) -> str:
    if not look.ways:
        return "never changed in these records: nothing could be learned of it"
    if not claimed:
        return "looked for and not found: chance among the batches could have done this"
    if look.sign and look.sign * middle < 0:
        return "found, but the other way than the trade expects: look for something that changed with it"
    return "found: too large for chance, all effects looked at counted"


def _leaning(look: _Look, looked_at: int) -> str:
    """Of an effect whose own band clears zero, but not by enough for all that was looked at."""
    if not look.ways:
        return _reason(look, False, 0.0)
    pairs = f" and {look.ways} pairs of this kind" if look.ways > 1 else ""
    return f"leans this way, not shown: of {looked_at} effects looked at{pairs} chance often makes one lean as far"


def _looks(model: SpringModel) -> list[_Look]:
    return [*_feature_looks(model), *_label_looks(model)]


def _feature_looks(model: SpringModel) -> list[_Look]:
    layout, made = model.layout, []
    start = layout.slices["effects"].start
    for place, feature in enumerate(BATCH_FEATURES):
        step, called, words = _STEPS.get(feature.name, (1.0, feature.name, f"{feature.name} up by one"))
        row = np.zeros(layout.size)
        known = [v for facts in layout.facts.values() if np.isfinite(v := facts.features[place])]
        row[start + place] = min(step, max(known) - min(known)) if len(set(known)) > 1 else step
        met = {_value(facts, place) for facts in layout.facts.values()} - {None}
        made.append(_Look(feature.name, called, words, row, int(len(met) > 1), feature.sign))
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
        words = f"{_CALLED[kind]} {levels[high]} instead of {levels[low]}"
        made.append(_Look(kind, _CALLED[kind], words, row, len(levels) * (len(levels) - 1) // 2, 0))
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
    """All that may change from batch to batch on one mandrel: how it is called, and its value in a batch's facts."""
    features = [
        (_STEPS[feature.name][1] if feature.name in _STEPS else feature.name, place)
        for place, feature in enumerate(BATCH_FEATURES)
    ]
    kinds = [(_CALLED[kind], place) for place, kind in enumerate(LABELS) if kind != "mandrel"]
    return [
        *((called, lambda facts, place=place: _value(facts, place)) for called, place in features),
        *((called, lambda facts, place=place: facts.labels[place]) for called, place in kinds),
    ]


def _changed_together(model: SpringModel) -> Iterable[str]:
    by_mandrel: dict[str, list[BatchFacts]] = {}
    for facts in model.layout.facts.values():
        by_mandrel.setdefault(facts.mandrel_id, []).append(facts)
    for mandrel, batches in sorted(by_mandrel.items()):
        if len(batches) == 2:
            yield f"Mandrel {mandrel} has two batches: whatever changed between them cannot be told apart on it alone."
        for (one, value), (other, value_of_other) in combinations(_recorded(), 2):
            pairs = [(value(facts), value_of_other(facts)) for facts in batches]
            if _always_together([(a, b) for a, b in pairs if a is not None and b is not None]):
                yield f"{_capital(one)} and {other} changed together on mandrel {mandrel}."


def _always_together(pairs: list[tuple[str, str]]) -> bool:
    """Whether each value of one went with one value of the other, in three batches or more and two values or more."""
    both, one, other = set(pairs), {a for a, _ in pairs}, {b for _, b in pairs}
    return len(pairs) > 2 and len(both) == len(one) == len(other) > 1


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
