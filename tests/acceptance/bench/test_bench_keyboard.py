"""By keyboard alone, on the demo book: from the first page to a value in the sheet and a doubt answered, and to a new
batch; whoever is there is shown where he is, and a screen reader is told the name of it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from tests.helpers.bench_page.bench_browser import Taps, browser, serving
from tests.helpers.repository import DEMO

MOST = 150  # steps of the tab key to anything on a page
_HERE = """
const one = document.activeElement;
const style = getComputedStyle(one);
const label = one.labels && one.labels.length ? one.labels[0].textContent : '';
const named = one.getAttribute('aria-label') || label || one.textContent || '';
const radio = one.closest('label.chip') || one;
return [one.tagName, named.trim().replace(/\\s+/g, ' '), style.outlineStyle, getComputedStyle(radio).outlineStyle];
"""


class Keys:
    """A person who has a keyboard and nothing else."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def press(self, *keys: str) -> None:
        """Presses keys, wherever the focus is."""
        from selenium.webdriver import ActionChains

        ActionChains(self.driver).send_keys(*keys).perform()

    def to(self, words: str, key: str = "\ue004") -> None:
        """Goes on with the tab key to what is named so; everything on the way has a name and shows that it is there."""
        for _ in range(MOST):
            self.press(key)
            tag, named, outline, around = self.driver.execute_script(_HERE)
            if tag in ("BODY", "HTML"):
                continue
            assert named, f"a {tag} without a name before {words!r}"
            assert outline != "none" or around != "none", f"{named!r} does not show that it is there"
            if named.startswith(words):
                return
        raise AssertionError(f"the tab key does not lead to {words!r}")


def test_a_value_is_entered_and_a_doubt_answered_by_keyboard_alone(tmp_path: Path) -> None:
    from selenium.webdriver.common.keys import Keys as Key

    shutil.copytree(DEMO, tmp_path / "book")
    driver = browser(tmp_path / "profile", width=1280, height=900)
    try:
        with serving(tmp_path / "book") as server:
            page, keys = Taps(driver), Keys(driver)
            driver.get(server.address)
            page.see("Mandrels")
            keys.to("WREN")
            keys.press(Key.ENTER)
            page.see("History")
            keys.to("Measure batch J24-09")
            keys.press(Key.ENTER)
            page.see("Which bell?")
            keys.to("New bell")
            keys.press(Key.SPACE)
            page.see("how is it measured")
            keys.to("Outside diameter, trimmed, from the tail")
            keys.press(Key.ENTER)
            page.see("1 of ")
            keys.press("9.99", Key.ENTER)
            page.see("Read again?")
            keys.to("It stands")
            keys.press(Key.ENTER)
            page.see("2 of ")
            driver.get(server.address)
            page.see("1 value kept")
    finally:
        driver.quit()


def test_a_batch_is_begun_by_keyboard_alone(tmp_path: Path) -> None:
    from selenium.webdriver.common.keys import Keys as Key

    shutil.copytree(DEMO, tmp_path / "book")
    driver = browser(tmp_path / "profile", width=1280, height=900)
    try:
        with serving(tmp_path / "book") as server:
            page, keys = Taps(driver), Keys(driver)
            driver.get(server.address + "new/batch?mandrel=WREN")
            page.see("Touch only")
            keys.to("Anneal")
            keys.press(Key.ENTER)
            keys.press(Key.TAB, Key.ARROW_DOWN)
            page.see("not written down")
            keys.to("Keep, and begin to measure")
            keys.press(Key.ENTER)
            page.see("Which bell?")
    finally:
        driver.quit()
