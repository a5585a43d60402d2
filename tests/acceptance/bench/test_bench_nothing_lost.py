"""Nothing entered at the bench is lost or doubled: reloads, a network cut, a server killed, two tablets."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made
from tests.helpers.bench_page.bench_browser import PATIENCE, Taps, browser, serving, start
from tests.helpers.bench_page.bench_client import Tablet
from tests.helpers.bench_page.random_kills import kill_at_random


def _begin(taps: Taps, address: str, batch: str) -> None:
    """A new bell of a batch of the small book, measured as before."""
    taps.driver.get(f"{address}mandrel?id=OAK")
    taps.see("Batches")
    taps.tap(f"Measure batch {batch}")
    taps.see("Which bell?")
    taps.tap("New bell")
    taps.tap("Outside diameter")


def _enter(taps: Taps, typed: str) -> None:
    """One value by the keyboard alone, not waiting for the shop's computer longer than the page does."""
    before = taps.driver.execute_script("return document.querySelector('#place').textContent")
    taps.driver.switch_to.active_element.send_keys(typed + "\n")
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        place = taps.driver.execute_script("return document.querySelector('#place')?.textContent || 'done'")
        if place != before:
            return
        stands = taps.driver.execute_script("return document.querySelector('#doubt')?.textContent || ''")
        if "Read again" in stands:
            taps.tap("It stands")
        time.sleep(0.02)
    raise AssertionError(f"{typed} was not taken: {taps.text()}")


def _without_network(taps: Taps, typed: list[str], cut_seconds: float) -> None:
    """Values entered while the network is cut, for so long at least."""
    cut = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    taps.driver.execute_cdp_cmd("Network.enable", {})
    taps.driver.execute_cdp_cmd("Network.emulateNetworkConditions", cut)
    gone = time.monotonic()
    for value in typed:
        _enter(taps, value)
    taps.see(f"{len(typed)} values wait in this tablet")
    time.sleep(max(0.0, cut_seconds - (time.monotonic() - gone)))
    open_net = {**cut, "offline": False, "downloadThroughput": -1, "uploadThroughput": -1}
    taps.driver.execute_cdp_cmd("Network.emulateNetworkConditions", open_net)


@pytest.mark.parametrize("cut_seconds", [2.0, pytest.param(30.0, marks=pytest.mark.benchmark)])
def test_a_reload_a_cut_network_and_a_kill_lose_and_double_nothing(cut_seconds: float, tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    stations = [10.0 * n for n in range(4, 38)]
    typed = [made.sound(z, 0.032) for z in stations]
    driver = browser(tmp_path / "profile")
    server = start(book)
    try:
        taps = Taps(driver)
        _begin(taps, server.address, "B3")
        for value in typed[:6]:
            _enter(taps, value)
        driver.refresh()
        taps.see("7 of 34")
        _enter(taps, typed[6])
        _without_network(taps, typed[7:12], cut_seconds)
        taps.wait(lambda: "wait in this tablet" not in taps.text(), "the values were not sent")
        server.kill()
        _enter(taps, typed[12])
        _enter(taps, typed[13])
        server = start(book, port=server.port)
        taps.wait(lambda: "wait in this tablet" not in taps.text() and "waits" not in taps.text(), "not sent again")
        for value in typed[14:]:
            _enter(taps, value)
        taps.see("that was the last station")
        taps.tap("Finish: into the book")
        taps.tap("Put it in the book")
        taps.see("It is in the book")
    finally:
        driver.quit()
        server.kill()
    read = read_book(book)[0].measurements
    new = read[(read["bell_id"] == "B3-02") & (read["kind"] == "outside_diameter")]
    assert [f"{value:.3f}" for value in new.sort_values("z_mm")["value_mm"]] == typed


@pytest.mark.benchmark  # by hand: a minute each; seen to pass beside other work too
def test_two_browsers_at_one_book_lose_nothing(tmp_path: Path) -> None:
    book, values = made.small(tmp_path / "book"), 12
    drivers = [browser(tmp_path / f"profile{n}") for n in range(2)]
    wrong: list[BaseException] = []

    def enter(driver: object, batch: str) -> None:
        try:
            taps = Taps(driver)
            _begin(taps, server.address, batch)
            for n in range(values):
                _enter(taps, made.sound(40.0 + 10 * n, 0.03))
        except BaseException as failed:
            wrong.append(failed)

    try:
        with serving(book) as server:
            threads = [threading.Thread(target=enter, args=pair) for pair in zip(drivers, ("B1", "B3"), strict=True)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
    finally:
        for driver in drivers:
            driver.quit()
    assert not wrong, wrong
    from springfit.bench.entry.desk import Desk

    assert [sheet.values for sheet in Desk(book).open_sheets()] == [values, values]


@pytest.mark.benchmark  # by hand: a minute each; seen to pass beside other work too
def test_two_tablets_enter_200_values_each_and_400_are_there(tmp_path: Path) -> None:
    book = made.small(tmp_path / "book")
    with serving(book) as server:
        tablets = [Tablet(server.port, f"tablet000{n}") for n in range(2)]
        threads = [threading.Thread(target=one.batch, args=(f"B8{n}", 200)) for n, one in enumerate(tablets)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for one in tablets:
            one.finish()
    read = read_book(book)[0].measurements
    new = read[read["bell_id"].str.startswith("B8")]
    assert len(new) == 400 == len(new.drop_duplicates(["bell_id", "z_mm", "angle_deg"]))


@pytest.mark.parametrize(("seed", "kills"), [(1, 2), pytest.param(1, 4, marks=pytest.mark.benchmark)])
def test_killed_at_random_moments_it_loses_and_doubles_nothing(tmp_path: Path, seed: int, kills: int) -> None:
    killed = kill_at_random(tmp_path, kills=kills, values=60, seed=seed)
    assert killed == kills
