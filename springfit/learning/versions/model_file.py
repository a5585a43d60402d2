"""A model as JSON and plain arrays, and back: what a person may read apart from what only a program needs."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.hand import Hand
from springfit.learning.coverage import Coverage
from springfit.learning.faults.back_pass import BackPassHump
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.forecasting.gap_forecast import Bands, Weighing
from springfit.learning.memory import Memory
from springfit.learning.model import KnownBatch, SpringModel
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import Columns
from springfit.learning.set_aside import plain_of, set_aside_of
from springfit.version import __version__

__all__ = ["FORMAT", "WRITTEN", "model_of", "shapes_of", "told_of_model"]

FORMAT = 8  # raised when the same names come to mean other things; the program's version does not decide
WRITTEN = {
    "version", "book_digest", "units", "hand", "columns", "mandrels", "levels", "batches", "labels", "structures",
    "known", "new", "noise_scale", "hump", "steel", "reach", "set_aside", "faults", "validation", "memory",
}  # fmt: skip
_CURVES = ("s", "z", "r", "slope", "curvature")


def told_of_model(model: SpringModel) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """What goes to JSON and what goes to arrays."""
    layout = model.layout
    told = {
        "format": FORMAT, "program": __version__, "version": model.version,
        "book_digest": model.book_digest, "units": model.units, "hand": dataclasses.asdict(model.hand),
        "columns": dataclasses.asdict(layout.columns), "mandrels": layout.mandrels, "levels": layout.levels,
        "batches": [dataclasses.asdict(batch) for batch in model.batches],
        "labels": [layout.facts[batch.batch_id].labels for batch in model.batches],
        "structures": [{"name": one.name, "spreads": dict(one.spreads.values)} for one in model.structures],
        "known": dataclasses.asdict(model.known), "new": dataclasses.asdict(model.new),
        "noise_scale": dict(model.noise_scale), "hump": dataclasses.asdict(model.hump), "steel": list(model.steel),
        "reach": {"mandrels": model.coverage.mandrels, "labels": model.coverage.labels},
        "set_aside": [plain_of(one) for one in model.set_aside],
        "faults": [dataclasses.asdict(one) for one in model.faults],
        "validation": model.validation,
        "memory": None if model.memory is None else dataclasses.asdict(model.memory),
    }  # fmt: skip
    arrays = {
        "features": np.array([layout.facts[batch.batch_id].features for batch in model.batches]),
        "reach_stations": model.coverage.stations, "reach_mandrel": model.coverage.mandrel,
        "reach_features": model.coverage.features,
    }  # fmt: skip
    for one in model.structures:
        arrays[f"mean_{one.name}"], arrays[f"covariance_{one.name}"] = one.mean, one.covariance
    for index, steel in enumerate(model.steel.values()):
        arrays[f"steel_{index}"] = np.array([getattr(steel, name) for name in _CURVES])
    return told, arrays


def model_of(told: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> SpringModel:
    """The model that was written; KeyError, TypeError or ValueError where the two do not fit."""
    batches = tuple(KnownBatch(**one) for one in told["batches"])
    facts = {
        batch.batch_id: BatchFacts(batch.mandrel_id, features, tuple(labels))
        for batch, features, labels in zip(batches, arrays["features"], told["labels"], strict=True)
    }
    columns = Columns(tuple(told["columns"]["gauges"]), tuple(told["columns"]["gauge_spread"]))
    coverage = Coverage(
        arrays["reach_stations"], arrays["reach_mandrel"], tuple(told["reach"]["mandrels"]),
        arrays["reach_features"], _tuples(told["reach"]["labels"]),
    )  # fmt: skip
    return SpringModel(
        version=told["version"], book_digest=told["book_digest"], units=told["units"], hand=Hand(**told["hand"]),
        layout=Layout(columns, facts, tuple(told["mandrels"]), _tuples(told["levels"])),
        structures=tuple(_structure(one, arrays) for one in told["structures"]),
        known=_bands(told["known"]), new=_bands(told["new"]), noise_scale=told["noise_scale"],
        hump=BackPassHump(**told["hump"]), batches=batches,
        steel={name: Meridian(*arrays[f"steel_{index}"]) for index, name in enumerate(told["steel"])},
        coverage=coverage, set_aside=tuple(set_aside_of(one) for one in told["set_aside"]),
        faults=tuple(LocalFault(**one) for one in told["faults"]), validation=told["validation"],
        memory=None if told["memory"] is None else Memory(**told["memory"]),
    )  # fmt: skip


def shapes_of(model: SpringModel) -> list[tuple[str, tuple[int, ...], tuple[int, ...]]]:
    """Arrays by name with the shape found and the one that the rest of the model asks for."""
    size, coverage, features = model.layout.size, model.coverage, len(BATCH_FEATURES)
    stations, count = len(coverage.mandrel), len(model.structures)
    of_structures = [
        entry
        for one in model.structures
        for entry in (
            (f"mean_{one.name}", one.mean.shape, (size,)),
            (f"covariance_{one.name}", one.covariance.shape, (size, size)),
        )
    ]
    weights = [
        (f"weights of {name}", (len(of.weights), len(of.wider)), (count, count))
        for bands, name in ((model.known, "known mandrels"), (model.new, "new mandrels"))
        for of in (bands.shape, bands.place)
    ]
    return [
        *of_structures, *weights,
        ("reach_stations", coverage.stations.shape, (stations, 2)),
        ("reach_features", coverage.features.shape, (features, 2)),
        *((f"features of {batch}", f.features.shape, (features,)) for batch, f in model.layout.facts.items()),
    ]  # fmt: skip


def _structure(told: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> FittedStructure:
    name = str(told["name"])
    # A spread that an earlier release did not know is at its start, as that release left it.
    spreads = Spreads({**STRUCTURES[name].start, **told["spreads"]})
    return FittedStructure(name, spreads, arrays[f"mean_{name}"], arrays[f"covariance_{name}"])


def _bands(told: Mapping[str, Any]) -> Bands:
    return Bands(_weighing(told["shape"]), _weighing(told["place"]))


def _weighing(told: Mapping[str, Any]) -> Weighing:
    weights, wider = (tuple(map(float, told[name])) for name in ("weights", "wider"))
    return Weighing(weights, wider, float(told["scale"]))


def _tuples(kinds: list[list[str]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(kind) for kind in kinds)
