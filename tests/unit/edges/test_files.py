"""Files are put in place whole or not at all, and flushed to the disk before the old ones go."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from springfit.files import write_file, write_files, write_folder


def left(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, hidden ones too."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def failing(monkeypatch: pytest.MonkeyPatch, name: str, at: int) -> None:
    """Lets the call number `at` (from 0) of a function of `os` fail as a full disk does."""
    real, calls = getattr(os, name), iter(range(1000))

    def call(*args: object, **more: object) -> object:
        if next(calls) == at:
            raise OSError(errno.ENOSPC, "no space left")
        return real(*args, **more)

    monkeypatch.setattr(os, name, call)


def test_one_that_cannot_take_its_place_leaves_the_others_as_they_were(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"old")
    (tmp_path / "c.csv").mkdir()
    (tmp_path / "c.csv" / "kept").write_bytes(b"x")
    with pytest.raises(OSError):
        write_files({"a.csv": b"new", "b.csv": b"new", "c.csv": b"new"}, tmp_path)
    assert left(tmp_path) == {"a.csv": b"old", "c.csv/kept": b"x"}


@pytest.mark.parametrize(("name", "at"), [("fsync", 0), ("fsync", 1), ("replace", 0), ("replace", 1)])
def test_a_disk_that_fails_leaves_what_was_there(
    name: str, at: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.csv").write_bytes(b"old")
    failing(monkeypatch, name, at)
    with pytest.raises(OSError, match="no space"):
        write_files({"a.csv": b"new", "b.csv": b"new"}, tmp_path)
    assert left(tmp_path) == {"a.csv": b"old"}


def test_data_and_name_are_flushed_in_this_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file, its name, the folder: the order after which a power cut cannot leave half a file."""
    order: list[str] = []
    fsync, replace = os.fsync, os.replace

    def flushed(handle: int) -> None:
        order.append("folder" if os.path.isdir(f"/proc/self/fd/{handle}") else "file")
        fsync(handle)

    def renamed(old: Path, new: Path) -> None:
        assert old.parent == new.parent, "a rename to another disk is a copy"
        order.append("name")
        replace(old, new)

    monkeypatch.setattr(os, "fsync", flushed)
    monkeypatch.setattr(os, "replace", renamed)
    write_file(tmp_path / "a.csv", b"new")
    assert order == ["file", "name", "folder"]
    assert left(tmp_path) == {"a.csv": b"new"}


@pytest.mark.parametrize(("name", "at"), [("fsync", 0), ("fsync", 1), ("rename", 0)])
def test_a_folder_is_there_whole_or_not_at_all(
    name: str, at: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failing(monkeypatch, name, at)
    with pytest.raises(OSError, match="no space"):
        write_folder({"a.csv": b"a", "below/b.csv": b"b"}, tmp_path / "book")
    assert not list(tmp_path.iterdir())
    monkeypatch.undo()
    write_folder({"a.csv": b"a", "below/b.csv": b"b"}, tmp_path / "book")
    assert left(tmp_path) == {"book/a.csv": b"a", "book/below/b.csv": b"b"}


def test_a_folder_with_anything_in_it_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    write_folder({"a.csv": b"a"}, tmp_path / "empty")
    with pytest.raises(OSError):
        write_folder({"a.csv": b"b"}, tmp_path / "empty")
    assert left(tmp_path) == {"empty/a.csv": b"a"}
