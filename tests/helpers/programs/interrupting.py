"""A command of springfit, worked out once and then written as often as a test asks, each time dying or out of room.

`python interrupting.py COMMAND ...` runs the command up to where it begins to write. There it waits for orders on
standard input, one a line: `WORLD HOW NUMBER`. For each it forks; the child goes on in the folder WORLD, a copy of the
working folder, and `finish`es, or dies before its change NUMBER (`die`), is killed after NUMBER milliseconds (`kill`),
or finds room for NUMBER bytes (`full`). What is answered: `CODE CHANGES BYTES MILLISECONDS`.
"""

from __future__ import annotations

import errno
import os
import signal
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CHANGES = ("mkdir", "rename", "replace", "fsync", "rmdir", "unlink")


@dataclass
class Fate:
    """What is to become of this process, and what it has done so far."""

    how: str = "wait"
    number: int = 0
    changes: int = 0
    written: int = 0

    def change(self) -> None:
        """Before each change of the file system."""
        if self.how == "die" and self.changes == self.number:
            os.kill(os.getpid(), signal.SIGKILL)
        self.changes += 1

    def write(self, size: int) -> None:
        """Before so many bytes are written."""
        self.written += size
        if self.how == "full" and self.written > self.number:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def take_orders(self) -> None:
        """Forks for each order, unless this is a child already; returns in the children alone."""
        if self.how != "wait":
            return
        for line in sys.stdin:
            world, how, number = line.rstrip("\n").split("\t")
            begin = time.perf_counter()
            child = os.fork()
            if not child:
                self.how, self.number = how, int(number)
                os.chdir(world)
                said = os.open(f"{world}.said", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
                os.dup2(said, 1), os.dup2(said, 2)
                return
            if how == "kill":
                time.sleep(int(number) / 1e3)
                os.kill(child, signal.SIGKILL)
            code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
            did = Path(f"{world}.did").read_text() if code == 0 else "0 0"
            sys.__stdout__.write(f"{code} {did} {1e3 * (time.perf_counter() - begin):.0f}\n")  # type: ignore[union-attr]
            sys.__stdout__.flush()  # type: ignore[union-attr]
        os._exit(0)


class Limited:
    """A file being written, on the disk that the fate allows."""

    def __init__(self, path: Path, mode: str, fate: Fate) -> None:
        fate.change()
        self.stream, self.fate = open(path, mode), fate  # noqa: SIM115, it is one itself

    def __enter__(self) -> Limited:
        return self

    def __exit__(self, *_: object) -> None:
        self.stream.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)

    def write(self, data: bytes) -> None:
        try:
            self.fate.write(len(data))
        except OSError:
            self.stream.write(data[: len(data) // 2])
            raise
        self.stream.write(data)


def run(arguments: list[str]) -> int:
    """The command's exit code, in the children."""
    import springfit.files
    import springfit.reporting.output_files  # whoever reads the reports there are keeps the plain functions
    import springfit.unfinished
    from springfit.cli import main

    fate = Fate()
    for name in CHANGES:
        real = getattr(os, name)

        def call(*args: Any, real: Callable[..., Any] = real, **more: Any) -> Any:
            fate.change()
            return real(*args, **more)

        setattr(os, name, call)

    beginnings = ((springfit.files, "sweep"), (springfit.files, "finish_files"))
    for module, name in (*beginnings, (springfit.reporting.output_files, "file_away")):
        begun = getattr(module, name)

        def begin(*args: Any, begun: Callable[..., Any] = begun) -> Any:
            fate.take_orders()
            return begun(*args)

        setattr(module, name, begin)

    def copied(source: Path, to: Path) -> None:
        fate.write(source.stat().st_size)
        to.write_bytes(source.read_bytes())

    springfit.files.open = lambda path, mode: Limited(path, mode, fate)  # type: ignore[attr-defined]
    springfit.unfinished.shutil.copy2 = copied  # type: ignore[assignment]
    code = main(arguments)
    did = f"{fate.changes} {fate.written}"
    Path(f"{os.getcwd()}.did").write_text(did)
    return code


if __name__ == "__main__":
    code = run(sys.argv[1:])
    sys.stdout.flush()
    os._exit(code)  # what its libraries do at the end of a process is the business of the one it was forked from
