"""Versions on disk: only JSON and plain arrays are read, and what is no version of this program is refused by name."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from springfit.cli import main
from springfit.findings import BookError
from springfit.learning.experience import experience_of
from springfit.learning.fitting import fit_model
from springfit.learning.model import SpringModel
from springfit.learning.versions.model_file import FORMAT
from springfit.learning.versions.outcomes import FittedWhole, Unreadable
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import train
from springfit.records.reading import read_book
from tests.helpers.books.small_book import drawn, sheets, write

Damage = Callable[[Path], object]


class Trap:
    """Leaves a file behind where it is ever unpickled."""

    def __init__(self, left: str) -> None:
        self.left = left

    def __reduce__(self) -> tuple[object, tuple[str, str]]:
        return open, (self.left, "w")


@pytest.fixture(scope="module")
def learned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the small book, and a store with one version learned from it."""
    folder = tmp_path_factory.mktemp("learned")
    fit = fit_model(experience_of(*read_book(write(folder / "book", drawn(sheets())))))
    assert fit is not None
    made = ModelStore(folder / "store")
    made.save(fit.model("v0001"))
    made.use("v0001")
    return folder


@pytest.fixture
def store(learned: Path, tmp_path: Path) -> ModelStore:
    """A copy of that store that a test may damage, beside its book."""
    shutil.copytree(learned, tmp_path, dirs_exist_ok=True)
    return ModelStore(tmp_path / "store")


def _json(**change: object) -> Damage:
    def damage(version: Path) -> None:
        path = version / "model.json"
        path.write_text(json.dumps({**json.loads(path.read_text()), **change}))

    return damage


def _arrays(change: Callable[[dict[str, np.ndarray]], dict[str, np.ndarray]]) -> Damage:
    def damage(version: Path) -> None:
        with np.load(version / "arrays.npz") as loaded:
            arrays = {name: loaded[name] for name in loaded.files}
        np.savez(version / "arrays.npz", **change(arrays))

    return damage


def _cut(name: str, part: float) -> Damage:
    def damage(version: Path) -> None:
        whole = (version / name).read_bytes()
        (version / name).write_bytes(whole[: int(part * len(whole))])

    return damage


def _fewer_structures(version: Path) -> None:
    told = json.loads((version / "model.json").read_text())
    _json(structures=told["structures"][:-1])(version)


LAID, FREE = "mean_laid", "covariance_free"  # arrays of two of the structures

DAMAGES: dict[str, tuple[Damage, str, str]] = {
    "damaged JSON": (_cut("model.json", 0.5), "model.json", "cannot be read"),
    "JSON of something else": (lambda v: (v / "model.json").write_text("[1]"), "model.json", "no JSON object"),
    "bytes": (lambda v: (v / "model.json").write_bytes(b"\xff\x00\xfe"), "model.json", "cannot be read"),
    "another format": (_json(format="springfit model 0"), "model.json", "springfit model 0"),
    "an older format": (_json(format=FORMAT - 1), "model.json", f"format is {FORMAT - 1}, older than"),
    "a newer format": (_json(format=FORMAT + 1), "model.json", f"format is {FORMAT + 1}, newer than"),
    "no format": (_json(format=None), "model.json", "format is None"),
    "a yes for a format": (_json(format=True), "model.json", "format is True"),
    "wrong kind in JSON": (_json(batches=[{"batch": 1}]), "model.json", "do not fit"),
    "labels missing": (_json(labels=[]), "model.json", "do not fit"),
    "truncated arrays": (_cut("arrays.npz", 0.6), "arrays.npz", "cannot be read"),
    "foreign arrays": (lambda v: (v / "arrays.npz").write_bytes(b"PK nothing"), "arrays.npz", "cannot be"),
    "missing arrays": (lambda v: (v / "arrays.npz").unlink(), "arrays.npz", "cannot be read"),
    "missing JSON": (lambda v: (v / "model.json").unlink(), "model.json", "no version v0001"),
    "mean too short": (_arrays(lambda a: {**a, LAID: a[LAID][:-1]}), "arrays.npz", f"{LAID} is of shape"),
    "mean of text": (_arrays(lambda a: {**a, LAID: a[LAID].astype(str)}), "arrays.npz", "not numbers"),
    "covariance not square": (
        _arrays(lambda a: {**a, FREE: a[FREE][:, 1:]}), "arrays.npz", f"{FREE} is of shape",
    ),
    "not finite": (_arrays(lambda a: {**a, LAID: a[LAID] * np.nan}), "arrays.npz", "not finite"),
    "an array missing": (_arrays(lambda a: {name: a[name] for name in a if name != LAID}), "model.json", "do not fit"),
    "a structure too few": (_fewer_structures, "arrays.npz", "weights of known mandrels is of shape"),
    "a structure of no name": (_json(structures=[{"spreads": {}}]), "model.json", "do not fit"),
}  # fmt: skip


def _same(one: SpringModel, other: SpringModel) -> bool:
    """Whether two models know the same, structure by structure, number for number."""
    return len(one.structures) == len(other.structures) > 0 and all(
        a.name == b.name and np.array_equal(a.mean, b.mean) and np.array_equal(a.covariance, b.covariance)
        for a, b in zip(one.structures, other.structures, strict=True)
    )


@pytest.mark.parametrize("kind", DAMAGES)
def test_what_is_damaged_or_foreign_is_refused_by_name(
    kind: str, store: ModelStore, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    damage, file, word = DAMAGES[kind]
    damage(store.folder / "v0001")
    with pytest.raises(BookError) as refused:
        store.load()
    (finding,) = refused.value.findings
    assert finding.file == str(store.folder / "v0001" / file) and word in finding.what
    out = tmp_path / "out"
    arguments = ["correct", str(tmp_path / "book"), "--target", "OAK-T", "--store", str(store.folder)]
    assert main([*arguments, "--out", str(out)]) == 1
    said = capsys.readouterr().err.strip()
    assert len(said.splitlines()) == 1 and file in said and "Traceback" not in said
    assert not out.exists()


@pytest.mark.parametrize(
    ("found", "what_to_do"), [(FORMAT + 1, "use the newer springfit"), (FORMAT - 1, "train again")]
)
def test_another_format_says_what_to_do(found: int, what_to_do: str, store: ModelStore) -> None:
    _json(format=found)(store.folder / "v0001")
    with pytest.raises(BookError) as refused:
        store.load()
    (finding,) = refused.value.findings
    assert f"format {FORMAT}" in finding.expected and what_to_do in finding.remedy
    assert ("the newer springfit" in finding.remedy) is (found > FORMAT)


@pytest.mark.parametrize("program", ["0.0.9", "99.0.0"])
def test_the_version_of_the_program_does_not_decide(program: str, store: ModelStore) -> None:
    before = store.load()
    _json(program=program)(store.folder / "v0001")
    assert _same(store.load(), before)


@pytest.mark.parametrize("alone", [False, True])
def test_no_pickle_is_ever_loaded(alone: bool, store: ModelStore, tmp_path: Path) -> None:
    left = tmp_path / "left"
    trap = np.array([Trap(str(left))], dtype=object)
    path = store.folder / "v0001" / "arrays.npz"
    if alone:
        with path.open("wb") as file:
            np.save(file, trap, allow_pickle=True)
    else:
        _arrays(lambda arrays: {**arrays, LAID: trap})(path.parent)
    with pytest.raises(BookError) as refused:
        store.load()
    assert refused.value.findings[0].file == str(path) and not left.exists()
    opened = np.load(path, allow_pickle=True)
    if not alone:
        _ = opened[LAID]
    assert left.exists()  # the trap does go off where pickles are loaded


def test_an_interrupted_training_leaves_the_old_version_in_use(
    store: ModelStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = store.load()
    book, findings = read_book(tmp_path / "book")

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(np, "savez", stop)
    with pytest.raises(KeyboardInterrupt):
        train(book, findings, store)
    monkeypatch.undo()
    assert store.versions() == ("v0001",) and store.in_use() == "v0001"
    assert _same(store.load(), before)
    assert sorted(path.name for path in store.folder.iterdir()) == ["in_use.json", "v0001"]
    assert train(book, findings, store).version == "v0002"


def test_a_damaged_version_in_use_does_not_stop_the_next_training(store: ModelStore, tmp_path: Path) -> None:
    _cut("model.json", 0.5)(store.folder / "v0001")
    book, findings = read_book(tmp_path / "book")
    done = train(book, findings, store)
    assert isinstance(done.how, FittedWhole) and not done.how.again
    assert isinstance(done.how.why, Unreadable) and "cannot be read" in done.how.why.what
    assert done.in_use and store.in_use() == done.version
    assert store.load().version == done.version


def test_a_version_is_asked_by_name(store: ModelStore) -> None:
    fit_again = store.load()
    assert fit_again.version == "v0001" and store.load("v0001").version == "v0001"
    with pytest.raises(BookError, match="v0007"):
        store.load("v0007")
    with pytest.raises(BookError, match="no version"):
        store.load("../store/v0001")
