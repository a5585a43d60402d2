"""A process that kills itself before one of its changes to the file system."""

from __future__ import annotations

import os
import signal

from springfit.records import journal as journal_module

STEPS = ("mkdir", "rename", "replace", "fsync", "rmdir", "unlink")


def die_before(step: int) -> None:
    """Makes this process kill itself before its `step`-th change to the file system."""
    left = [step]

    def counted(name: str) -> None:
        real = getattr(os, name)

        def call(*args: object, **more: object) -> object:
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            left[0] -= 1
            return real(*args, **more)

        setattr(journal_module.os, name, call)

    for name in STEPS:
        counted(name)
