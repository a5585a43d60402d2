"""Many bells laid, each result kept on disk under what it was worked out from."""

from __future__ import annotations

__all__ = ["case_key", "lay_many"]

import hashlib
import io
from collections.abc import Callable, Sequence
from dataclasses import fields
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
from joblib import Parallel, delayed

from springfit.files import write_file
from springfit.mechanics.laying.case import Laid, LayingCase
from springfit.mechanics.laying.grading import Fineness
from springfit.mechanics.laying.kernels.compiled import engine_version
from springfit.mechanics.laying.laying_down import lay
from springfit.mechanics.laying.solver import LayingFailure

Progress = Callable[[int, int], None]

# Runs that go side by side in threads: compiled code lets the others run, and processes of their own take some three
# seconds to start, as long as five runs. Of more, what is not compiled, a twentieth, would wait for one another.
FEW = 16


def lay_many(
    cases: Sequence[LayingCase],
    *,
    jobs: int = 1,
    folder: Path | None = None,
    trim_at: float | Sequence[float | None] | None = None,
    fineness: Fineness | None = None,
    progress: Progress | None = None,
) -> list[Laid | None]:
    """`lay` for every case in order, None where equilibrium is lost (LayingFailure).

    `jobs` at a time, through joblib and whatever backend it is set to. `trim_at` [mm] is one arc for all, or one for
    each. Cases that are the same are laid once. With a `folder` results, failures too, are kept there by `case_key` and
    taken from there; several processes may share it. `progress` is told (done, of how many different ones) after each.
    """
    cuts = list(trim_at) if isinstance(trim_at, Sequence) else [trim_at] * len(cases)
    if len(cuts) != len(cases):
        raise ValueError(f"trim_at: found {len(cuts)} arcs for {len(cases)} cases, expected one for each")
    told, working = progress or _nothing_told, fineness or Fineness()
    keys = [case_key(case, cut, working) for case, cut in zip(cases, cuts, strict=True)]
    asked = dict(zip(keys, zip(cases, cuts, strict=True), strict=True))
    paths = {key: folder / f"{key}.npz" if folder else None for key in asked}
    found = {key: kept[0] for key, path in paths.items() if path and (kept := _kept(path))}
    for done in range(len(found)):
        told(done + 1, len(asked))
    missing = [key for key in asked if key not in found]
    laid = Parallel(n_jobs=jobs, prefer="threads" if len(missing) <= FEW else "processes", return_as="generator")(
        delayed(_laid)(*asked[key], working, paths[key]) for key in missing
    )
    for key, one in zip(missing, laid, strict=True):
        found[key] = one
        told(len(found), len(asked))
    return [found[key] for key in keys]


def case_key(case: LayingCase, trim_at: float | None, fineness: Fineness) -> str:
    """Name of a result: a fingerprint of every number that goes in and of the engine that works it out."""
    digest = hashlib.sha256(engine_version().encode())
    for field in fields(case):
        value = getattr(case, field.name)
        digest.update(field.name.encode())
        digest.update(value.tobytes() if isinstance(value, np.ndarray) else repr(value).encode())
    digest.update(repr((None if trim_at is None else float(trim_at), fineness)).encode())
    return digest.hexdigest()[:32]


def _nothing_told(done: int, of: int) -> None:
    """For a caller that does not ask how far it is."""


def _kept(path: Path) -> tuple[Laid | None] | None:
    """The result kept there, a failure too; None where there is none, or it is not whole."""
    try:
        return (_read(path),)
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None


def _laid(case: LayingCase, trim_at: float | None, fineness: Fineness, path: Path | None) -> Laid | None:
    found = _tried(case, trim_at, fineness)
    if path is not None:
        _write(path, found)
    return found


def _tried(case: LayingCase, trim_at: float | None, fineness: Fineness) -> Laid | None:
    try:
        return lay(case, trim_at=trim_at, fineness=fineness)
    except LayingFailure:
        return None


def _read(path: Path) -> Laid | None:
    with np.load(path, allow_pickle=False) as kept:
        if "failed" in kept:
            return None
        columns = {field.name: kept[field.name] for field in fields(Laid) if field.name != "rim"}
        return Laid(rim=float(kept["rim"]), **columns)


def _write(path: Path, found: Laid | None) -> None:
    """Whole or not at all."""
    columns = {"failed": np.array(True)} if found is None else {f.name: getattr(found, f.name) for f in fields(found)}
    packed = io.BytesIO()
    np.savez(packed, **columns)
    write_file(path, packed.getvalue())
