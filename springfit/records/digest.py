"""What a table says, whatever the order and the formatting: one canonical text a row, one digest a book."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

import numpy as np
import pandas as pd

from springfit.records.blank_cells import is_blank
from springfit.records.columns import Table
from springfit.records.tables import TABLES

__all__ = ["book_digest", "canonical_rows"]

_NANOMETRES_PER_MM = 1e6  # numbers enter as whole millionths: finer than any reading, coarser than rounding


def book_digest(frames: Mapping[str, pd.DataFrame]) -> str:
    """SHA-256 of what the tables say, the same for any order of rows, files, columns and any formatting.

    A batch's revision enters as the one in force, whether it was typed or not; extra columns do not enter.
    """
    whole = hashlib.sha256()
    for name in sorted(frames):
        rows = sorted(canonical_rows(frames[name], TABLES[name]))
        whole.update(f"{name}\n{len(rows)}\n".encode())
        whole.update("\n".join(rows).encode())
    return whole.hexdigest()


def canonical_rows(frame: pd.DataFrame, table: Table) -> list[str]:
    """One text a row of the declared columns, in the frame's order: equal when the rows say the same."""
    columns = []
    for column in sorted(table.columns, key=lambda column: column.name):
        values = frame[column.frame_name]
        if column.kind == "date":
            texts = [str(day) for day in values.to_numpy().astype("datetime64[D]")]
        elif column.numeric:
            texts = _whole_millionths(values.to_numpy(float))
        else:
            listed = values.tolist()
            said = {text: "" if is_blank(text) else repr(text) for text in set(listed)}
            texts = [said[text] for text in listed]
        columns.append(texts)
    return ["\t".join(row) for row in zip(*columns, strict=True)]


def _whole_millionths(values: np.ndarray) -> list[str]:
    """Numbers as whole millionths, blanks as nothing."""
    known = np.isfinite(values)
    whole = np.zeros(len(values), dtype=np.int64)
    whole[known] = np.rint(values[known] * _NANOMETRES_PER_MM)
    return [
        str(number) if is_known else ""
        for number, is_known in zip(whole.tolist(), known.tolist(), strict=True)
    ]
