"""A store that somebody spoilt on purpose is named, never a traceback and never waited for."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from springfit.findings import BookError
from springfit.learning.versions.store import ModelStore


def spoilt(folder: Path, model: str = "{}") -> ModelStore:
    (folder / "v0001").mkdir(parents=True)
    (folder / "v0001" / "model.json").write_text(model)
    (folder / "in_use.json").write_text('{"version": "v0001"}')
    return ModelStore(folder)


def test_deeply_nested_json(tmp_path: Path) -> None:
    with pytest.raises(BookError, match=r"model.json: this is no springfit model"):
        spoilt(tmp_path, "[" * 200_000).load()
    (tmp_path / "in_use.json").write_text('{"version":' * 200_000)
    with pytest.raises(BookError, match=r"in_use.json"):
        ModelStore(tmp_path).load()


def test_arrays_that_are_a_pipe(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("springfit.learning.versions.store._known", lambda _: {})
    store = spoilt(tmp_path)
    os.mkfifo(tmp_path / "v0001" / "arrays.npz")
    with pytest.raises(BookError, match=r"arrays.npz.*it is no file"):
        store.load()


@pytest.mark.parametrize("name", ["v\0", "v0001\0", "../v0001", "", "\0"])
def test_a_version_that_can_be_no_name(name: str, tmp_path: Path) -> None:
    with pytest.raises(BookError):
        spoilt(tmp_path / "store").load(name)
