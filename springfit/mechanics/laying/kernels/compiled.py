"""How the laying engine is compiled, and the constant that names its version.

Machine code is made at the first call and kept on disk: beside the package, or in the user's own cache where that
cannot be written, or not at all where neither can. Only entry points are kept. Each has `engine_version()` in its
closure, which the compiler's cache looks at: it does not look at the files of the functions an entry point calls, and
would go on running old code after one of them has changed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from numba import njit

__all__ = ["engine_version", "entry_point", "inlined", "inner"]

Function = Callable[..., Any]


@cache
def engine_version() -> str:
    """Fingerprint of the engine's sources: it changes when a result may."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parents[1].rglob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.hexdigest()[:16]


def inner(function: Function) -> Any:
    """Compiled into whatever entry point calls it; division by zero gives infinity, as in numpy."""
    return njit(function, error_model="numpy")


def inlined(function: Function) -> Any:
    """The same, laid open in its caller: for what is called at every layer of every point."""
    return njit(function, error_model="numpy", forceinline=True)


def entry_point(function: Function) -> Any:
    """Compiled for calls from Python, other threads running on, and kept on disk where a place can be found."""
    try:
        return njit(function, error_model="numpy", nogil=True, cache=True)
    except RuntimeError:  # numba found no folder that can be written
        return njit(function, error_model="numpy", nogil=True)
