"""What drives springback, in a maker's words: what a step of it is called, what was found, what goes with what."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from springfit.learning.effects import Confounded, Effect

__all__ = ["confounded_words", "effect_as_told", "effect_words", "finding_words"]

_STEPS = {
    "wall": "a sheet one fifth thicker", "temper": "sheet bought half as hard again",
    "anneal": "no anneal instead of a full one", "passes": "twice the passes", "hump": "a good hump instead of none",
    "tool_nose": "a tool nose twice as blunt", "spindle_speed": "twice the spindle speed",
}  # fmt: skip
_FINDINGS = {
    "never_changed": "never changed in these records: nothing could be learned of it",
    "not_found": "looked for and not found: chance among the batches could have done this",
    "other_way": "found, but the other way than the trade expects: look for something that changed with it",
    "found": "found: too large for chance, all effects looked at counted",
}


def effect_words(effect: Effect) -> str:
    """The change that an effect is of."""
    if effect.labels:
        return f"{_called(effect.name)} {effect.labels[0]} instead of {effect.labels[1]}"
    return _STEPS.get(effect.name, f"{_called(effect.name)} up by one")


def finding_words(effect: Effect) -> str:
    """What the records say of it."""
    if effect.finding != "leaning":
        return _FINDINGS[effect.finding]
    pairs = f" and {effect.ways} pairs of this kind" if effect.ways > 1 else ""
    return (
        f"leans this way, not shown: of {effect.looked_at} effects looked at{pairs} chance often makes one lean as far"
    )


def effect_as_told(effect: Effect) -> dict[str, Any]:
    """An effect for scripts: its facts, and both sentences."""
    return {**asdict(effect), "words": effect_words(effect), "reason": finding_words(effect)}


def confounded_words(pair: Confounded) -> str:
    """One thing that the records cannot separate."""
    one, other = (_called(name) for name in pair.names) if pair.names else ("", "")
    match pair.kind:
        case "two_batches":
            told = "whatever changed between them cannot be told apart on it alone"
            return f"Mandrel {pair.mandrel} has two batches: {told}."
        case "together":
            return f"{_capital(one)} and {other} changed together on mandrel {pair.mandrel}."
        case "sum":
            known = "only what they do together is known."
        case "difference":
            known = "only their difference is known."
    return f"{_capital(one)} and {other} cannot be told apart in these records: {known}"


def _called(name: str) -> str:
    return name.replace("_", " ")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
