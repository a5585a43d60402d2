"""Trained versions on disk: a folder a version, JSON for what a person may read, plain arrays for the rest.

Nothing that can run code is ever loaded: `model.json` is JSON, `arrays.npz` is read without pickles. Which version is
in use stands in `in_use.json`; `forecast_log.csv` keeps what was said of each batch before it was learned from.
"""

from __future__ import annotations

import dataclasses
import io
import json
import zipfile
import zlib
from pathlib import Path
from typing import Any

import numpy as np

from springfit.files import write_file, write_folder
from springfit.findings import BookError, Finding
from springfit.learning.model import SpringModel
from springfit.learning.versions.model_file import FORMAT, WRITTEN, model_of, shapes_of, told_of_model

__all__ = ["ModelStore"]

_NEXT = "next"  # in in_use.json: the version that is in use as soon as it is stored


@dataclasses.dataclass(frozen=True)
class ModelStore:
    """The versions in one folder. A version is written whole or not at all and never changed."""

    folder: Path

    def versions(self) -> tuple[str, ...]:
        """Names of the stored versions, oldest first."""
        return tuple(sorted(p.name for p in self.folder.glob("v[0-9]*") if (p / "model.json").is_file()))

    def in_use(self) -> str | None:
        """The version in use; None before the first training."""
        path = self.folder / "in_use.json"
        if not path.is_file():
            return None
        told = _json(path)
        if told.get(_NEXT) in self.versions():
            return str(told[_NEXT])
        version = told.get("version")
        return None if version is None and _NEXT in told else str(version)

    def next_version(self) -> str:
        """Name that the next version will have."""
        taken = [int(path.name[1:]) for path in self.folder.glob("v[0-9]*") if path.name[1:].isdigit()]
        return f"v{max(taken, default=0) + 1:04d}"

    def load(self, version: str | None = None) -> SpringModel:
        """The version named, or the one in use; BookError naming the file when there is none or it is damaged."""
        name = version or self.in_use()
        if name is None:
            what, remedy = "no model has been trained into this folder", "run springfit train BOOK first"
            raise BookError(
                [Finding("error", str(self.folder), None, None, what, "a trained version", remedy)]
            )
        place = self.folder / name
        if name not in self.versions():
            there = ", ".join(self.versions()) or "none"
            raise _damaged(
                place / "model.json", f"there is no version {name}", f"one of those there are: {there}"
            )
        told, arrays = _known(place / "model.json"), _arrays(place / "arrays.npz")
        try:
            model = model_of(told, arrays)
        except (ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError) as failed:
            raise _damaged(
                place / "model.json",
                f"it and its arrays do not fit ({failed!r})",
                "what springfit train writes",
            ) from None
        for what, found, expected in shapes_of(model):
            if found != expected:
                raise _damaged(place / "arrays.npz", f"{what} is of shape {found}", f"shape {expected}")
        if not all(np.isfinite(one.mean).all() and np.isfinite(one.covariance).all() for one in model.structures):
            raise _damaged(place / "arrays.npz", "mean or covariance is not finite", "numbers")
        return model

    def save(self, model: SpringModel, *, use: bool = False) -> Path:
        """Write a new version; with `use` it is in use from the moment that it is there, else when `use` says so."""
        place = self.folder / model.version
        if use:
            self._write_in_use({"version": self.in_use(), _NEXT: model.version})
        told, arrays = told_of_model(model)
        text = json.dumps(told, indent=1, ensure_ascii=False)
        packed = io.BytesIO()
        np.savez(packed, allow_pickle=False, **arrays)
        write_folder({"model.json": text.encode("utf-8"), "arrays.npz": packed.getvalue()}, place)
        if use:
            self.use(model.version)
        return place

    def use(self, version: str) -> None:
        """Put a stored version in use."""
        self._write_in_use({"version": version})

    def _write_in_use(self, told: dict[str, str | None]) -> None:
        write_file(self.folder / "in_use.json", (json.dumps(told) + "\n").encode("utf-8"))


def _known(path: Path) -> dict[str, Any]:
    """What `model.json` says, of a format that is read: another may mean other things by the same numbers."""
    told = _json(path)
    found = told.get("format")
    if (type(found) is int and found != FORMAT) or found == "springfit model 1":  # as 0.1.0 wrote it
        raise _of_another_format(path, found)
    if type(found) is not int:  # nor True, which would pass for 1
        raise _damaged(path, f"its format is {found!r}", f"format {FORMAT}")
    missing = sorted(WRITTEN - told.keys())
    if missing:
        raise _damaged(path, f"it lacks {', '.join(missing)}", "all that springfit train writes")
    return told


def _arrays(path: Path) -> dict[str, np.ndarray]:
    """Plain arrays by name; one that would need unpickling is refused."""
    if path.exists() and not path.is_file():  # a pipe would be waited for without end
        raise _damaged(path, "it is no file", "the arrays it was written with")
    try:
        loaded = np.load(path, allow_pickle=False)
        if not isinstance(loaded, np.lib.npyio.NpzFile):
            raise ValueError("it holds one array, no archive of them")
        with loaded:
            arrays = {key: loaded[key] for key in loaded.files}
        if strange := [key for key, array in arrays.items() if array.dtype.kind not in "fi"]:
            raise ValueError(f"{', '.join(strange)}: not numbers")
        return arrays
    except (OSError, EOFError, ValueError, KeyError, zipfile.BadZipFile, zlib.error) as failed:
        raise _damaged(path, f"it cannot be read ({failed})", "the arrays it was written with") from None


def _json(path: Path) -> dict[str, Any]:
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as failed:
        raise _damaged(path, f"it cannot be read ({failed})", "JSON as springfit train writes it") from None
    if not isinstance(told, dict):
        raise _damaged(path, "it holds no JSON object", "JSON as springfit train writes it")
    return told


def _of_another_format(path: Path, found: object) -> BookError:
    newer = isinstance(found, int) and found > FORMAT
    what = f"this model's format is {found!r}, {'newer' if newer else 'older'} than this program reads"
    remedy = ("use the newer springfit that trained it, or " if newer else "") + "train again from the book"
    return BookError([Finding("error", str(path), None, None, what, f"format {FORMAT}", remedy)])


def _damaged(path: Path, what: str, expected: str) -> BookError:
    remedy = "train again, or name another folder with --store"
    return BookError(
        [Finding("error", str(path), None, None, f"this is no springfit model: {what}", expected, remedy)]
    )
