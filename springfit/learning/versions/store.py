"""Trained versions on disk: a folder a version, JSON for what a person may read, plain arrays for the rest.

Nothing that can run code is ever loaded: `model.json` is JSON, `arrays.npz` is read without pickles. Which version is
in use stands in `in_use.json`; `forecast_log.csv` keeps what was said of each batch before it was learned from.
"""

from __future__ import annotations

import dataclasses
import json
import os
import shutil
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from springfit.findings import BookError, Finding
from springfit.geometry.meridian import Meridian
from springfit.learning.coverage import Reach
from springfit.learning.experience import SetAside
from springfit.learning.faults.back_pass import BackPassHump
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.learning.memory import Memory
from springfit.learning.model import KnownBatch, SpringModel
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.summaries import Columns
from springfit.version import __version__

__all__ = ["ModelStore"]

FORMAT = "springfit model 2"
_WRITTEN = {
    "version", "book_digest", "units", "columns", "mandrels", "levels", "batches", "labels", "spreads", "noise_scale",
    "hump", "steel", "reach", "set_aside", "faults", "validation", "memory",
}  # fmt: skip
_CURVES = ("s", "z", "r", "slope", "curvature")


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
        return str(_json(path).get("version"))

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
            model = _model(told, arrays)
        except (ValueError, KeyError, TypeError, IndexError, AttributeError) as failed:
            raise _damaged(
                place / "model.json",
                f"it and its arrays do not fit ({failed!r})",
                "what springfit train writes",
            ) from None
        for what, found, expected in _shapes(model):
            if found != expected:
                raise _damaged(place / "arrays.npz", f"{what} is of shape {found}", f"shape {expected}")
        if not (np.isfinite(model.mean).all() and np.isfinite(model.covariance).all()):
            raise _damaged(place / "arrays.npz", "mean or covariance is not finite", "numbers")
        return model

    def save(self, model: SpringModel) -> Path:
        """Write a new version; it is not in use before `use` says so."""
        place = self.folder / model.version
        making = self.folder / f".{model.version}.making-{os.getpid()}"
        shutil.rmtree(
            making, ignore_errors=True
        )  # what a process of the same number left when it was stopped
        making.mkdir(parents=True)
        try:
            told, arrays = _told(model)
            text = json.dumps(told, indent=1, ensure_ascii=False)
            (making / "model.json").write_text(text, encoding="utf-8")
            np.savez(making / "arrays.npz", allow_pickle=False, **arrays)
            making.rename(place)
        finally:
            shutil.rmtree(making, ignore_errors=True)
        return place

    def use(self, version: str) -> None:
        """Put a stored version in use."""
        write_atomic(self.folder / "in_use.json", json.dumps({"version": version}) + "\n")


def write_atomic(path: Path, text: str) -> None:
    """Write a whole file beside its place and move it there: nobody ever sees half of it."""
    making = path.with_name(f".{path.name}.making-{os.getpid()}")
    making.write_text(text, encoding="utf-8")
    making.replace(path)


def _known(path: Path) -> dict[str, Any]:
    """What `model.json` says, of this format and this program: another may mean other things by the same numbers."""
    told = _json(path)
    if told.get("format") != FORMAT:
        raise _damaged(path, f"its format is {told.get('format')!r}", FORMAT)
    if told.get("program") != __version__:
        what = f"it was written by springfit {told.get('program')}"
        raise _damaged(path, what, f"springfit {__version__}")
    missing = sorted(_WRITTEN - told.keys())
    if missing:
        raise _damaged(path, f"it lacks {', '.join(missing)}", "all that springfit train writes")
    return told


def _arrays(path: Path) -> dict[str, np.ndarray]:
    """Plain arrays by name; one that would need unpickling is refused."""
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


def _shapes(model: SpringModel) -> list[tuple[str, tuple[int, ...], tuple[int, ...]]]:
    """Arrays by name with the shape found and the one that the rest of the model asks for."""
    size, reach, features = model.layout.size, model.reach, len(BATCH_FEATURES)
    facts = [
        (f"features of {batch}", f.features.shape, (features,)) for batch, f in model.layout.facts.items()
    ]
    stations = len(reach.mandrel)
    return [
        ("mean", model.mean.shape, (size,)),
        ("covariance", model.covariance.shape, (size, size)),
        ("reach_stations", reach.stations.shape, (stations, 2)),
        ("reach_features", reach.features.shape, (features, 2)),
        *facts,
    ]


def _json(path: Path) -> dict[str, Any]:
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as failed:
        raise _damaged(path, f"it cannot be read ({failed})", "JSON as springfit train writes it") from None
    if not isinstance(told, dict):
        raise _damaged(path, "it holds no JSON object", "JSON as springfit train writes it")
    return told


def _damaged(path: Path, what: str, expected: str) -> BookError:
    remedy = "train again, or name another folder with --store"
    return BookError(
        [Finding("error", str(path), None, None, f"this is no springfit model: {what}", expected, remedy)]
    )


def _told(model: SpringModel) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """What goes to JSON and what goes to arrays."""
    layout = model.layout
    told = {
        "format": FORMAT, "program": __version__, "version": model.version,
        "book_digest": model.book_digest, "units": model.units,
        "columns": dataclasses.asdict(layout.columns), "mandrels": layout.mandrels, "levels": layout.levels,
        "batches": [dataclasses.asdict(batch) for batch in model.batches],
        "labels": [layout.facts[batch.batch_id].labels for batch in model.batches],
        "spreads": dict(model.spreads.values), "noise_scale": dict(model.noise_scale),
        "hump": dataclasses.asdict(model.hump), "steel": list(model.steel),
        "reach": {"mandrels": model.reach.mandrels, "labels": model.reach.labels},
        "set_aside": [dataclasses.asdict(one) for one in model.set_aside],
        "faults": [dataclasses.asdict(one) for one in model.faults],
        "validation": model.validation,
        "memory": None if model.memory is None else dataclasses.asdict(model.memory),
    }  # fmt: skip
    arrays = {
        "mean": model.mean, "covariance": model.covariance,
        "features": np.array([layout.facts[batch.batch_id].features for batch in model.batches]),
        "reach_stations": model.reach.stations, "reach_mandrel": model.reach.mandrel,
        "reach_features": model.reach.features,
    }  # fmt: skip
    for index, steel in enumerate(model.steel.values()):
        arrays[f"steel_{index}"] = np.array([getattr(steel, name) for name in _CURVES])
    return told, arrays


def _model(told: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> SpringModel:
    batches = tuple(KnownBatch(**one) for one in told["batches"])
    facts = {
        batch.batch_id: BatchFacts(batch.mandrel_id, features, tuple(labels))
        for batch, features, labels in zip(batches, arrays["features"], told["labels"], strict=True)
    }
    columns = Columns(tuple(told["columns"]["gauges"]), tuple(told["columns"]["gauge_spread"]))
    levels = tuple(tuple(kind) for kind in told["levels"])
    reach = Reach(
        arrays["reach_stations"], arrays["reach_mandrel"], tuple(told["reach"]["mandrels"]),
        arrays["reach_features"], tuple(tuple(kind) for kind in told["reach"]["labels"]),
    )  # fmt: skip
    return SpringModel(
        version=told["version"], book_digest=told["book_digest"], units=told["units"],
        layout=Layout(columns, facts, tuple(told["mandrels"]), levels), spreads=Spreads(told["spreads"]),
        mean=arrays["mean"], covariance=arrays["covariance"], noise_scale=told["noise_scale"],
        hump=BackPassHump(**told["hump"]), batches=batches,
        steel={name: Meridian(*arrays[f"steel_{index}"]) for index, name in enumerate(told["steel"])},
        reach=reach, set_aside=tuple(SetAside(**one) for one in told["set_aside"]),
        faults=tuple(LocalFault(**one) for one in told["faults"]), validation=told["validation"],
        memory=None if told["memory"] is None else Memory(**told["memory"]),
    )  # fmt: skip
