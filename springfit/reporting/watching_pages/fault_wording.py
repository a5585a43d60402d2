"""What a fault is called, what speaks for it, and the one check that settles it."""

from __future__ import annotations

from collections.abc import Sequence

from springfit.reporting.wording.length_wording import Units, amount
from springfit.watching.signatures.naming import Named

__all__ = ["fault_title", "group_words", "settle_words", "size_words"]

_TITLES = {
    "throat_hump": "throat swollen by passes toward the tail",
    "swelling": "a swelling that springback cannot make",
    "dent": "a dent that springback cannot make",
    "stranger": "nothing explains this bell as one of its batch",
    "mislabelled": "another bell under this label",
    "wrong_wall": "sheet of another wall",
    "temper": "sheet harder or softer than recorded",
    "lengthened": "bell drawn longer",
    "off_seat": "bell off its seat when measured",
    "gauge_zero": "gauge off its zero",
    "warm": "bell measured warm",
    "bead_pull": "rim pulled by the bead",
    "trim_scar": "a narrow ring near the trim line",
    "nose_lumps": "waves of the tool's nose",
    "out_of_round": "out of round",
    "facet_washed_out": "a facet washed out",
    "facet_lifted": "metal lifted off a facet",
    "worn_facet": "mandrel worn at a facet",
    "reading_slip": "one reading mistaken",
}
_SETTLE = {
    "throat_hump": "look along the throat against a straightedge; ask whether the last pass ran toward the tail",
    "swelling": "measure the same place again on two bells of the batch",
    "dent": "look for a dent there; measure it again a quarter turn round",
    "stranger": "set the bell on the mandrel it is booked on and look whether it seats",
    "mislabelled": "set the bell on the mandrel it is booked on and look whether it seats",
    "wrong_wall": "take the wall of three bells with a ball micrometer at the tail",
    "temper": "file or bend an offcut of this sheet beside one of the last lot",
    "lengthened": "measure the length from tail to rim against a bell of the batch before",
    "off_seat": "wipe tail and mandrel, seat the bell again and read three stations",
    "gauge_zero": "read the gauge on its setting ring or a known pin",
    "warm": "let the bell lie on the surface plate for an hour and read the rim again",
    "bead_pull": "read a bell of the batch before it is beaded",
    "trim_scar": "draw a finger nail along the mandrel at the trim line",
    "nose_lumps": "look along the flare in raking light",
    "out_of_round": "read the rim at four angles",
    "facet_washed_out": "lay a straightedge over the facet of bell and mandrel",
    "facet_lifted": "lay a straightedge over the facet of bell and mandrel",
    "worn_facet": "measure the mandrel again at the facet",
    "reading_slip": "read this place again",
}
_TOGETHER = {
    frozenset({"wrong_wall", "gauge_zero"}): "take the wall of three bells with a ball micrometer at the tail",
    frozenset({"off_seat", "lengthened"}): "measure the length from tail to rim against a bell of the batch before",
    frozenset({"worn_facet", "facet_washed_out"}): "lay a straightedge over the facet of bell and mandrel",
    frozenset({"temper", "warm"}): "let the bell lie on the surface plate for an hour and read the rim again",
}


def fault_title(name: str) -> str:
    """What a fault is called on a page."""
    return _TITLES[name]


def group_words(group: Sequence[str]) -> str:
    """The names that cannot be told apart, in words."""
    return ", or ".join(_TITLES[name] for name in group)


def settle_words(group: Sequence[str]) -> str:
    """The one check that settles which of a group it is, or whether a single fault is there."""
    return _TOGETHER.get(frozenset(group[:2]), _SETTLE[group[0]])


def size_words(named: Named, units: Units) -> str:
    """How large a fault is."""
    if named.name == "stranger":
        return f"{amount(named.size, units)} rms off its batch"
    if named.unit == "share":
        return f"springback {abs(named.size):.0%} {'more' if named.size > 0 else 'less'} than its batch should have"
    if named.unit == "K":
        return f"{named.size:.0f} K warmer than the gauge"
    side = "" if named.name in ("lengthened", "off_seat") else " per side"
    which = f", gauge {named.gauge_id}" if named.gauge_id else ""
    return f"{amount(named.size, units, signed=True)}{side}{which}"
