"""What people call a sheet alloy, and its UNS number: `70/30 brass`, `cartridge brass`, `CuZn30`, `260` are C26000.

Names: the Copper Development Association's common names of the wrought alloys in ASTM B36 (brass) and B122 (nickel
silver), the shares of copper and zinc (or nickel), EN number and symbol as CDA Publication 120, table 16 pairs them.
A name that fits two alloys of the table stands for none. `yellow brass` alone is C26800: the one that is sold as sheet
to ASTM B36 under that name (data sheets "Yellow Brass, UNS C26800, ASTM B36"); C27000 has the same constants.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = ["ALLOY_NAMES", "alloys_known", "own_metal", "uns_of"]


@dataclass(frozen=True)
class AlloyName:
    """What one alloy is called: `told` to people; other whole `names`; `share` and the `words` that may go with it."""

    told: str
    names: tuple[str, ...]
    share: str
    words: tuple[str, ...]


_BRASS = ("", "brass")
ALLOY_NAMES: dict[str, AlloyName] = {
    "C26000": AlloyName(
        "cartridge brass 70/30", ("cartridge brass", "cartridge brass 70", "cuzn30", "cw505l", "ms70"), "70 30",
        (*_BRASS, "cartridge brass", "yellow brass"),
    ),
    "C26800": AlloyName(
        "yellow brass 66/34", ("yellow brass", "yellow brass 66", "cuzn33", "cw506l", "ms67"), "66 34",
        (*_BRASS, "yellow brass"),
    ),
    "C27000": AlloyName(
        "yellow brass 65/35", ("yellow brass 65", "cuzn36", "cw507l"), "65 35", (*_BRASS, "yellow brass")
    ),
    "C27200": AlloyName("yellow brass 63/37", ("cuzn37", "cw508l", "ms63"), "63 37", (*_BRASS, "yellow brass")),
    "C23000": AlloyName(
        "red brass 85/15", ("red brass", "red brass 85", "cuzn15", "cw502l"), "85 15", (*_BRASS, "red brass")
    ),
    "C22000": AlloyName(
        "commercial bronze 90/10", ("commercial bronze", "commercial bronze 90", "cuzn10", "cw501l"), "90 10",
        (*_BRASS, "commercial bronze"),
    ),
    "C22600": AlloyName(
        "jewelry bronze 87.5/12.5", ("jewelry bronze", "jewellery bronze"), "87.5 12.5",
        (*_BRASS, "jewelry bronze", "jewellery bronze"),
    ),
    "C75200": AlloyName("nickel silver 65-18", ("cuni18zn20", "cw409j"), "65 18", ("", "nickel silver")),
    "C77000": AlloyName("nickel silver 55-18", ("cuni18zn27", "cw410j"), "55 18", ("", "nickel silver")),
}  # fmt: skip
# MPa in one of each; the pound of force by NIST SP 811, appendix B.8
_PSI = 6.894757e-3
_MPA = {"mpa": 1.0, "gpa": 1e3, "psi": _PSI, "ksi": 1e3 * _PSI, "msi": 1e6 * _PSI, "mpsi": 1e6 * _PSI}
_STRESS = r"(\d+(?:\.\d+)?)\s*(GPa|MPa|Mpsi|Msi|ksi|psi)"
_OWN = re.compile(rf"E\s*=?\s*{_STRESS}\s*[,;]?\s*yield\s*=?\s*{_STRESS}", re.IGNORECASE | re.ASCII)
_OWN_AS_TOLD = "E {modulus:g} GPa, yield {strength:g} MPa"
_OWN_RANGES = ((40e3, 250e3), (20.0, 700.0))  # MPa: magnesium to steel, soft aluminium to hard stainless sheet
_TWO_NAMES = re.compile(r"([^()]+)\(([^()]+)\)")
_UNS = re.compile(r"(?:uns )?([a-z]) ?(\d{5})")
# The older three figures: C260, CDA 260, 260 brass
_THREE = re.compile(r"(?:cda |alloy |brass |c ?)?(\d{3})(?: brass)?")
_OF_SHEET = re.compile(r"\b(sheet|strip|copper alloy)\b")


def uns_of(name: str) -> str | None:
    """The UNS number that an alloy's name stands for; None for a name that says no single alloy of the table.

    A number of the standard's own form is given back in capitals whether the table has it or not, a metal of one's own
    (`own_metal`) always in the same words.
    """
    if own := own_metal(name):
        return _OWN_AS_TOLD.format(modulus=own[0] / 1e3, strength=own[1])
    if (two := _TWO_NAMES.fullmatch(name.strip())) and (both := {uns_of(two.group(1)), uns_of(two.group(2))}):
        return both.pop() if len(both) == 1 else None  # `C26000 (cartridge brass)`: one metal by two names, or none
    said = _plain(name)
    number = _UNS.fullmatch(said)
    if number:
        return f"{number.group(1).upper()}{number.group(2)}"
    short = _THREE.fullmatch(said)
    if short:
        return f"C{short.group(1)}00" if f"C{short.group(1)}00" in ALLOY_NAMES else None
    for uns, one in ALLOY_NAMES.items():
        before, shared, after = said.partition(one.share)
        beside = " ".join(f"{before} {after}".split())
        if said in one.names or (shared and beside in one.words and _whole(before, after)):
            return uns
    return None


def own_metal(name: str) -> tuple[float, float] | None:
    """Young's modulus and yield of the annealed sheet [MPa] of `E 103 GPa, yield 140 MPa` or `E 15 Msi, yield 20 ksi`;
    None for anything else."""
    found = _OWN.fullmatch(name.strip())
    if found is None:
        return None
    modulus, of_modulus, strength, of_yield = found.groups()
    own = (float(modulus) * _MPA[of_modulus.casefold()], float(strength) * _MPA[of_yield.casefold()])
    return own if all(low <= one <= high for one, (low, high) in zip(own, _OWN_RANGES, strict=True)) else None


def alloys_known() -> str:
    """The alloys of the table as a person may type them, `C26000 (cartridge brass 70/30), ...`, and another metal."""
    known = ", ".join(f"{uns} ({one.told})" for uns, one in ALLOY_NAMES.items())
    own = "'E 103 GPa, yield 140 MPa' or 'E 15 Msi, yield 20 ksi'"
    return f"{known}; another metal by its modulus and its yield when annealed, such as {own}"


def _whole(before: str, after: str) -> bool:
    """Whether the shares stand as words of their own."""
    return before[-1:] in ("", " ") and after[:1] in ("", " ")


def _plain(name: str) -> str:
    """Small letters, a blank for every sign, percent signs and the word sheet left out."""
    said = re.sub(r"[^a-z0-9.]+", " ", name.casefold())
    return " ".join(_OF_SHEET.sub(" ", said).split())
