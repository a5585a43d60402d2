"""Fits the ridge: columns with batch, bell, wall and seat effects, one penalty chosen by leaving batches out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ..mandrel_lines import SteelLine
from .ridge_fields import BATCH_FIELDS, BELL_FIELDS, COLUMNS, FIELDS, Released, batch_numbers, released_fields
from .ridge_rows import BatchRows

__all__ = ["Ridge", "fitted"]

Array = NDArray[np.float64]

# 1 sd of shares of flow stress that a batch and a bell have of their own, of walls, and of seats by datum [mm].
BATCH_SHARE, BELL_SHARE = 0.06, 0.02
BATCH_WALL_MM, BELL_WALL_MM = 0.006, 0.004
SEAT_MM = {"tail": 0.5, "feeler": 0.8, "witness": 0.08, "rim": 0.09}
PENALTIES = np.geomspace(1.0, 1e8, 33)


@dataclass(frozen=True, eq=False)
class Ridge:
    """Coefficients of COLUMNS, the penalty, and the left-out misfit per row at it."""

    coefficients: Array
    penalty: float
    left_out: float

    def gap(self, steel: SteelLine, conditions: dict[str, object], s: Array) -> Array:
        """Forecast gap (n,) [mm] of a trimmed bell at arcs `s`."""
        freed = released_fields(steel, conditions, stage="trimmed")
        return np.asarray(_columns(freed.gap(s), conditions) @ self.coefficients)


@dataclass(frozen=True, eq=False)
class _Normal:
    """X'WX, X'Wy, y'Wy of a batch, and its rows."""

    matrix: Array
    vector: Array
    total: float
    rows: int


def fitted(batches: list[BatchRows]) -> Ridge:
    """The ridge on every batch."""
    full, plain, sizes = [], [], []
    for batch in batches:
        columns, own, bells = _design(batch)
        full.append(_normal(batch, columns, np.hstack([own, bells])))
        plain.append(_normal(batch, columns, bells))
        sizes.append((columns**2).sum(axis=0))
    count = sum(normal.rows for normal in full)
    scale = np.sqrt(sum(sizes) / count)  # a column counts by what it does to the gap
    scale = np.where(scale > 0.0, scale, 1.0)
    matrix, vector = sum(n.matrix for n in full), sum(n.vector for n in full)

    def solved(left_out: int | None, penalty: float) -> Array:
        a, b = matrix, vector
        if left_out is not None:
            a, b = a - full[left_out].matrix, b - full[left_out].vector
        return np.linalg.solve(a + penalty * np.diag((scale / scale.max()) ** 2 + 1e-9), b)

    misfits = []
    for penalty in PENALTIES:
        misfit = 0.0
        for i, normal in enumerate(plain):
            c = solved(i, penalty)
            misfit += (normal.total - 2.0 * c @ normal.vector + c @ normal.matrix @ c) / count
        misfits.append(misfit)
    best = int(np.argmin(misfits))
    return Ridge(solved(None, PENALTIES[best]), float(PENALTIES[best]), float(misfits[best]))


def _columns(of_fields: Array, conditions: dict[str, object]) -> Array:
    """(n, COLUMNS) from (n, FIELDS) and the batch's numbers."""
    numbers = batch_numbers(conditions)
    return np.column_stack([of_fields[:, FIELDS.index(field)] * numbers[number] for field, number in COLUMNS])


def _design(batch: BatchRows) -> tuple[Array, Array, Array]:
    """Columns (n, COLUMNS), and the effects times their sd: of the batch, and of its bells, walls and seats."""
    rows = batch.rows
    of_fields = np.zeros((len(rows), len(FIELDS)))
    for stage in rows["stage"].unique():
        at = np.flatnonzero(rows["stage"] == stage)
        of_fields[at] = _read(released_fields(batch.steel, batch.conditions, stage=str(stage)), rows.iloc[at])
    of_fields *= rows["springs"].to_numpy()[:, None]
    through = rows["through"].to_numpy()
    own = BATCH_SHARE * of_fields[:, [FIELDS.index(name) for name in BATCH_FIELDS]]
    of_bell = np.eye(int(rows["bell"].max()) + 1)[rows["bell"].to_numpy()]
    effects = [BATCH_WALL_MM * through[:, None], BELL_WALL_MM * through[:, None] * of_bell]
    effects += [BELL_SHARE * of_fields[:, [FIELDS.index(name)]] * of_bell for name in BELL_FIELDS]
    spread = rows["datum"].map(SEAT_MM).fillna(0.0).to_numpy()
    sine = np.sin(rows["slope"].to_numpy()) * rows["springs"].to_numpy()
    effects.append((spread * sine)[:, None] * np.eye(int(rows["session"].max()) + 1)[rows["session"].to_numpy()])
    return _columns(of_fields, batch.conditions), own, np.hstack(effects)


def _read(freed: Released, rows: pd.DataFrame) -> Array:
    """What readings show of a unit of each field: the gap, less what the datum moved with the bell."""
    anchor = rows["anchor"].to_numpy(float)
    follows = np.isfinite(anchor)
    moved = freed.along(np.where(follows, anchor, 0.0)) * follows[:, None]
    return np.asarray(freed.gap(rows["arc"].to_numpy()) + moved * np.sin(rows["slope"].to_numpy())[:, None])


def _normal(batch: BatchRows, columns: Array, effects: Array) -> _Normal:
    """Normal equations with the effects (n, q), each of unit variance, integrated out."""
    root = 1.0 / np.sqrt(batch.rows["variance"].to_numpy())
    x, y, e = root[:, None] * columns, root * batch.rows["gap"].to_numpy(), root[:, None] * effects
    inside = np.linalg.inv(np.eye(e.shape[1]) + e.T @ e)
    ex, ey = e.T @ x, e.T @ y
    return _Normal(x.T @ x - ex.T @ inside @ ex, x.T @ y - ex.T @ inside @ ey, float(y @ y - ey @ inside @ ey), len(y))
