"""The model asked, as a process of its own: a question a line in, an answer a line out, at once; the rest beside.

A forecast of conditions that were never asked before lays a sheet on its steel, which takes seconds. So each question
is answered from what is known, changes joined from each alone, and the whole is worked out in a thread: what was asked
last first, then each change alone, so that the next answers are better.
"""

from __future__ import annotations

import json
import sys
import threading
from pathlib import Path
from typing import Any

import numpy as np

from springfit.bench.asking.joined_changes import Changes, Joined, ToldBell, joined
from springfit.bench.asking.sliders import Slider, changed, sliders_of
from springfit.bench.shop_numbers import shop_number
from springfit.decisions.forecast import forecast_of
from springfit.findings import BookError
from springfit.geometry.meridian import Meridian
from springfit.learning.compared_bells import compare_bells
from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.learning.model import AskedBell
from springfit.learning.versions.store import ModelStore
from springfit.lengths import from_mm
from springfit.normal_errors import BAND_LEVEL
from springfit.records.book import Book
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book
from springfit.reporting.wording.cannot_tell import coverage_words
from springfit.reporting.wording.length_wording import Units, small_unit

__all__ = ["Asked", "main"]

_POINTS = 60  # of a line that is drawn; a screen shows no more


class Asked:
    """One mandrel asked about: what is known of its bells, and a thread that works out more."""

    def __init__(self, book: Book, store: Path, mandrel_id: str) -> None:
        self.model = ModelStore(store).load()
        self.units = book.units
        self.now: Conditions = book.conditions(book.newest_batch(mandrel_id))
        revision = int(book.mandrels[book.mandrels["mandrel_id"] == mandrel_id]["revision"].max())
        self.mandrel: Meridian = steel_meridian(book, mandrel_id, revision)
        self.sliders: list[Slider] = sliders_of(book, self.now, self.mandrel, lambda one: shop_number(one, book.units))
        self.known: dict[Changes, ToldBell] = {}
        self._present: AskedBell | None = None
        self._failed: set[Changes] = set()
        self._last: Changes = frozenset()
        self._wake = threading.Condition()
        threading.Thread(target=self._work, daemon=True).start()

    def answer(self, changes: Changes) -> Joined | None:
        """What is known at once; the whole of it is worked out next."""
        with self._wake:
            self._last = changes
            self._wake.notify()
        return joined(self.known, changes)

    def worked(self) -> tuple[int, int]:
        """How many single changes are known, and of how many."""
        singles = self._singles()
        return sum(one in self.known or one in self._failed for one in singles), len(singles)

    def told(self, changes: Changes) -> ToldBell:
        """The forecast of a bell with all changes made, and what it differs by from the present one."""
        if self._present is None:
            self._present = self.model.asked(self.mandrel, self.now)
        bell, present = self._present, self._present
        if changes:
            bell = self.model.asked(*changed(self.mandrel, self.now, changes, self.units))
        said, change = forecast_of(self.model, bell), compare_bells(self.model, present, bell)
        arc, half = present.words[0].arc, change.band(BAND_LEVEL)[1] - change.gap
        low, high = said.bell_band(BAND_LEVEL)
        return ToldBell(
            said.meridian.z, said.gap, low, high, np.interp(arc, change.arc, change.gap),
            np.interp(arc, change.arc, half), tuple(map(coverage_words, said.notes)),
        )  # fmt: skip

    def _singles(self) -> list[Changes]:
        one = [frozenset({(slider.name, value)}) for slider in self.sliders for value in slider.values
               if value != slider.present]  # fmt: skip
        return [frozenset(), *one]

    def _work(self) -> None:
        while True:
            with self._wake:
                wanted = [self._last, *self._singles()]
                todo = next((one for one in wanted if one not in self.known and one not in self._failed), None)
                if todo is None:
                    self._wake.wait()
                    continue
            try:
                self.known[todo] = self.told(todo)
            except Exception:  # a change that no sheet can follow has no forecast; the page says so
                self._failed.add(todo)


def main() -> int:
    """Answers questions from standard input until it ends."""
    asked: dict[str, Any] = {"key": None, "of": None}
    for line in sys.stdin:
        try:
            print(json.dumps(_answer(asked, json.loads(line))), flush=True)
        except BookError as failed:
            print(json.dumps({"problem": failed.findings[0].line()}), flush=True)
        except Exception as failed:
            print(json.dumps({"problem": f"it could not be asked ({type(failed).__name__}: {failed})"}), flush=True)
    return 0


def _answer(asked: dict[str, Any], question: dict[str, Any]) -> dict[str, Any]:
    key = (question["state"], question["mandrel"])
    if asked["key"] != key:
        book, _ = read_book(question["book"])
        asked.update(key=key, of=Asked(book, Path(question["store"]), question["mandrel"]))
    of: Asked = asked["of"]
    present = {(slider.name, slider.present) for slider in of.sliders}
    offered = {(slider.name, value) for slider in of.sliders for value in slider.values}
    changes = frozenset(map(tuple, question["changes"])) & offered - present
    return _view(of, of.answer(changes))


def _view(of: Asked, told: Joined | None) -> dict[str, Any]:
    done, whole = of.worked()
    view: dict[str, Any] = {
        "sliders": [vars(slider) for slider in of.sliders], "unit": small_unit(of.units), "station_unit": of.units,
        "worked": done, "of": whole, "version": of.model.version, "bells": of.model.bells,
    }  # fmt: skip
    if told is None:
        return view
    present = of.known[frozenset()]
    return view | {
        "exact": told.exact, "missing": [list(one) for one in told.missing], "notes": list(told.bell.notes),
        "present": _line(present, of.units), "bell": _line(told.bell, of.units),
        "change": _change(told.bell, of.units),
    }  # fmt: skip


def _line(bell: ToldBell, units: Units) -> list[list[float]]:
    """Station, gap, least and most, in the shop's units, at so many places as are drawn."""
    at = np.unique(np.linspace(0, bell.z.size - 1, _POINTS).astype(int))
    amount = small_unit(units)
    return [
        [round(from_mm(float(bell.z[n]), units), 4), *(round(from_mm(float(part[n]), amount), 3)
                                                       for part in (bell.gap, bell.low, bell.high))]
        for n in at
    ]  # fmt: skip


def _change(bell: ToldBell, units: Units) -> list[list[float]]:
    """Difference from the present bell, least and most, at so many of its places as are drawn."""
    at = np.unique(np.linspace(0, bell.change.size - 1, _POINTS).astype(int))
    parts = (bell.change, bell.change - bell.change_half, bell.change + bell.change_half)
    amount = small_unit(units)
    return [[round(from_mm(float(part[n]), amount), 3) for part in parts] for n in at]


if __name__ == "__main__":
    sys.exit(main())
