"""The text of a cell that is written in runs: what is struck through in it, and figures that are raised.

`2` with a raised `3` and `/8` behind it shows as two and three eighths, and its letters alone say 23/8. A part that is
struck through was meant to be gone, and its letters alone stand before what was meant to take its place.
"""

from __future__ import annotations

from typing import Literal

__all__ = ["Crossed", "TextRuns"]

Crossed = Literal["", "part", "all"]  # what of a text is struck through


class TextRuns:
    """Gathers one text from the elements `r`, `rPr` and `t`; reading aids are left out."""

    def __init__(self) -> None:
        self.piece: list[str] = []
        self.clear()

    def clear(self) -> None:
        """Begins another text."""
        self._parts: list[str] = []
        self._struck = self._raised = False
        self._any_struck = self._any_plain = False
        self._aids = 0

    def start(self, local: str, attributes: dict[str, str]) -> None:
        """An element begins; letters up to its end belong into `piece`."""
        if local == "t":
            self.piece = []
        elif local == "r":
            self._struck = self._raised = False
        elif local == "strike":
            self._struck = attributes.get("val", "1") not in ("0", "false")
        elif local == "vertAlign":
            self._raised = attributes.get("val") == "superscript"
        elif local == "rPh":
            self._aids += 1

    def end(self, local: str) -> None:
        """An element ends."""
        if local == "rPh":
            self._aids -= 1
        elif local == "t" and not self._aids:
            self._add("".join(self.piece))

    def text(self) -> str:
        """The text as it is to be read, a blank before a raised figure that stands behind another."""
        return "".join(self._parts)

    def crossed(self) -> Crossed:
        """What of the text is struck through."""
        return "" if not self._any_struck else "part" if self._any_plain else "all"

    def _add(self, text: str) -> None:
        if text.strip():
            self._any_struck |= self._struck
            self._any_plain |= not self._struck
        if self._raised and text[:1].isdigit() and self._parts and self._parts[-1][-1:].isdigit():
            self._parts.append(" ")
        if text:
            self._parts.append(text)
