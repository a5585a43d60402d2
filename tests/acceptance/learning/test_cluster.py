"""Training carried by another engine of joblib: on a local Dask cluster of two workers the numbers are the same."""

from __future__ import annotations

from pathlib import Path

import joblib
import numpy as np
import pytest
from dask.distributed import Client, LocalCluster

import springfit
from springfit.learning.model import SpringModel
from tests.helpers.books.small_book import drawn, sheets, write


def trained(book: Path) -> SpringModel:
    """The book learned and validated."""
    return springfit.fit(*springfit.read_book(book))


def test_a_cluster_of_two_workers_learns_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    small = drawn(sheets())
    for name, spun in (("batches.csv", 0), ("bells.csv", 1), ("measurements.csv", 0)):  # two sheets: one a worker
        small[name] = [row for row in small[name] if not row[spun].startswith("B3")]
    book = write(tmp_path / "book", small)
    here = trained(book)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "there"))  # where nothing was laid yet
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster) as client:
        with joblib.parallel_config(backend="dask"):
            there = trained(book)
        ran = client.run(lambda: True)
    assert len(ran) == 2
    for mine, theirs in zip(here.structures, there.structures, strict=True):
        np.testing.assert_allclose(theirs.mean, mine.mean, rtol=0, atol=1e-12)
    assert there.known == here.known and there.new == here.new
