"""`add`, `undo`, `train` and `correct` killed, or out of room: old or new, never a third, nothing left that grows.

A command changes nothing before its first change of a file, so it is worked out once, up to there, and from there on
killed and starved as often as is asked: every second kill at any moment, the others before one change of the file
system. In the default run that is twice and once for `train` and `correct`; by hand, for all four,
`SPRINGFIT_KILLS=25 SPRINGFIT_FULL_DISKS=5 pytest -s -m ''`.
Where `SPRINGFIT_SMALL_DISK` names a folder on a small file system, it is that one that is full.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from unittest.mock import patch

import pytest

from springfit.cli import main
from springfit.learning.versions.store import ModelStore
from springfit.records import read_book
from springfit.records.editing.kept_book import kept_book
from springfit.unfinished import finish_files
from tests.helpers.books.small_book import Sheets, drawn, sheets, write
from tests.helpers.repository import ROOT

KILLS = int(os.environ.get("SPRINGFIT_KILLS", "2"))
FULL_DISKS = int(os.environ.get("SPRINGFIT_FULL_DISKS", "1"))
PROGRAM = [sys.executable, str(ROOT / "tests" / "helpers" / "programs" / "interrupting.py")]
OLD_DAY, NEW_DAY = "1750000000", "1750086400"  # SOURCE_DATE_EPOCH of the report there is, and of the new one
LEFT = (".springfit-lock", "forecast_log.csv")
CORRECT = ("correct", "book", "--target", "OAK-T", "--store", "store", "--out", "report")


def state_of_book(book: Path) -> str:
    return read_book(book)[0].digest


def state_of_store(folder: Path) -> str:
    """The version in use, which can be read, and all there are."""
    store = ModelStore(folder)
    return f"{store.load().version} of {store.versions()}"


def state_of_report(folder: Path) -> str:
    finish_files(folder)  # as every reader of reports does
    data = (path.name.encode() + path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file())
    return sha256(b"".join(data)).hexdigest()


def tidy_book(book: Path) -> None:
    """As whoever changes the book next."""
    with kept_book(book).held():
        pass


@dataclass(frozen=True)
class Work:
    """A command, the folder that it changes, what is to be seen of it, and what the next writer of it does first."""

    arguments: tuple[str, ...]
    changed: str
    state: Callable[[Path], str]
    tidy: Callable[[Path], None] = finish_files


WORK = {
    "add": Work(("add", "book", "typed"), "book", state_of_book, tidy_book),
    "undo": Work(("undo", "added"), "added", state_of_book, tidy_book),
    "train": Work(("train", "book", "--store", "store"), "store", state_of_store),
    "correct": Work(CORRECT, "report", state_of_report),
}


@dataclass
class Worked:
    """A command worked out up to its first change, in `world`; it goes on from there in copies of that."""

    work: Work
    world: Path
    process: subprocess.Popen[str]

    def goes_on(self, how: str, number: int, *, there: Path | None = None) -> tuple[Path, list[int]]:
        """The copied world in which it went on (or `there`), with exit code, changes, bytes and milliseconds."""
        world = there or Path(shutil.copytree(self.world, self.world.parent / f"{how}-{number}"))
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(f"{world}\t{how}\t{number}\n")
        self.process.stdin.flush()
        return world, [int(word) for word in self.process.stdout.readline().split()]


def begun(world: Path, arguments: tuple[str, ...], day: str = NEW_DAY) -> subprocess.Popen[str]:
    env = {**os.environ, "SOURCE_DATE_EPOCH": day, "OMP_NUM_THREADS": "1"}
    env["PYTHONPATH"] = str(ROOT)
    return subprocess.Popen(
        [*PROGRAM, *arguments], cwd=world, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )


def run(world: Path, arguments: tuple[str, ...], day: str = NEW_DAY) -> None:
    """The command in `world`, undisturbed."""
    with contextlib.chdir(world), patch.dict(os.environ, {"SOURCE_DATE_EPOCH": day}):
        assert main(list(arguments)) == 0


def listing(folder: Path) -> list[str]:
    """Every name below, hidden ones too; but the lock, which is one for ever, and what was said before training, which
    stays true and stands there once."""
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.name not in LEFT)


def with_bells(*bells: str) -> Sheets:
    """The small book, of its bells only these, and their batches."""
    book = drawn(sheets())
    named = {"batches.csv": {bell[:2] for bell in bells}, "bells.csv": set(bells), "measurements.csv": set(bells)}
    for name, kept in named.items():
        book[name] = [book[name][0], *(row for row in book[name][1:] if row[0] in kept)]
    return book


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of one bell and sheets to add; the book with them; a store that knows no bell yet; a report."""
    world = tmp_path_factory.mktemp("before") / "world"
    typed = {name: rows for name, rows in with_bells("B3-1").items() if name[:2] in ("ba", "be", "me")}
    write(world / "book", with_bells("B1-1")), write(world / "added", with_bells("B1-1")), write(world / "typed", typed)
    write(world / "none", with_bells())
    run(world, ("add", "added", "typed"))
    run(world, ("train", "none", "--store", "store"))
    run(world, CORRECT, OLD_DAY)
    return world


# By hand where another test stops the command too: test_add_interrupted.py and test_undo.py
BY_HAND = [pytest.param(name, marks=pytest.mark.benchmark) for name in ("add", "undo")]


@pytest.fixture(params=["train", "correct", *BY_HAND])
def worked(request: pytest.FixtureRequest, before: Path, tmp_path: Path) -> Iterator[Worked]:
    world = Path(shutil.copytree(before, tmp_path / "world"))
    process = begun(world, WORK[request.param].arguments)
    yield Worked(WORK[request.param], world, process)
    process.communicate()
    shutil.rmtree(tmp_path)


def test_killed_or_out_of_room(worked: Worked) -> None:
    work, chance = worked.work, random.Random(13)
    old, names_before = work.state(worked.world / work.changed), listing(worked.world / work.changed)
    whole, (code, changes, written, took) = worked.goes_on("finish", 0)
    folder = whole / work.changed
    new, names_after = work.state(folder), listing(folder)
    assert code == 0 and new != old and changes > 5 and written > 500

    def finishes(world: Path) -> None:
        assert worked.goes_on("finish", 0, there=world)[1][0] == 0, Path(f"{world}.said").read_text()

    seen = {old: 0, new: 0}
    for number in range(KILLS):
        order = ("die", chance.randrange(changes)) if number % 2 == 0 else ("kill", chance.randrange(took + 5))
        world, _ = worked.goes_on(*order)
        state = work.state(world / work.changed)
        assert state in seen, f"a third state: {order}"
        seen[state] += 1
        if state == old:
            finishes(world)
        work.tidy(world / work.changed)
        assert work.state(world / work.changed) == new
        assert listing(world / work.changed) == names_after, f"something was left behind: {order}"
        shutil.rmtree(world)
    small = os.environ.get("SPRINGFIT_SMALL_DISK")
    for _ in range(FULL_DISKS):
        room = chance.randrange(written)
        world = _starved(worked, room, Path(small) if small else None)
        said = Path(f"{world}.said").read_text()
        assert "Traceback" not in said and ("room" in said or "space" in said), said
        assert work.state(world / work.changed) == old
        # The copy of a report that is put away before a new one is written may be there already: the next finds it so.
        left = [name for name in listing(world / work.changed) if not name.startswith("earlier")]
        assert left == names_before, "something was left behind"
        finishes(world)
        assert work.state(world / work.changed) == new and listing(world / work.changed) == names_after
        shutil.rmtree(world)
    print(f"{work.arguments[0]}: {KILLS} kills, {seen[old]} old, {seen[new]} new; {FULL_DISKS} full disks")


def _starved(worked: Worked, room: int, small: Path | None) -> Path:
    """The world in which the command found no more than `room` bytes, on the `small` disk where there is one."""
    if small is None:
        world, told = worked.goes_on("full", room)
    else:
        world = Path(shutil.copytree(worked.world, small / "full"))
        for name in (".said", ".did"):
            Path(f"{world}{name}").write_bytes(b" " * 4096)  # what it says has room
        filler = small / "filler"
        filler.write_bytes(b"\0" * max(0, shutil.disk_usage(small).free - room))
        _, told = worked.goes_on("finish", 0, there=world)
        filler.unlink()
    assert told[0] == 1, f"exit code {told[0]} with room for {room} bytes: {Path(f'{world}.said').read_text()}"
    return world
