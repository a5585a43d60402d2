"""The ladder: every module of springfit imports only from lower levels, no two modules import each other, and no two
rooms inside a room do.

Imports are read from the sources, those inside functions and under TYPE_CHECKING too: an arrow is an arrow
wherever it is drawn.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import springfit

PACKAGE = Path(springfit.__file__).parent

LEVEL_OF_ROOM = {
    "version": -1,
    "arguments": 0,
    "lengths": 0,
    "alloy_names": 0,
    "findings": 0,
    "files": 0,
    "normal_errors": 0,
    "flag_runs": 0,
    "unfinished": -1,  # under the edges: `files` alone rests on it
    "geometry": 1,
    "mechanics": 1,
    "records": 1,
    "learning": 3,
    "decisions": 4,
    "watching": 4,
    "survey": 4,
    "reporting": 5,
    "front_door": 6,
    "demo": 6,
    "bench": 7,
    "commands": 8,
    "cli": 9,
}
LOWER_IN_ITS_ROOM = {"learning.data": 2, "learning.features": 2}
HIDDEN_FROM_DEMO = {"mechanics", "learning", "decisions", "watching", "survey"}  # it must not know the model

Arrows = dict[str, set[str]]


def _modules(package: Path) -> dict[str, Path]:
    """Module names without the leading "springfit.": the package itself is ""."""
    names = {}
    for path in sorted(package.rglob("*.py")):
        parts = path.relative_to(package).with_suffix("").parts
        names[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return names


def _arrows(package: Path) -> Arrows:
    """For each module the modules of the package that it imports, by any spelling."""
    modules = _modules(package)
    return {name: set(_imported(name, path, modules)) - {name} for name, path in modules.items()}


def _imported(name: str, path: Path, modules: dict[str, Path]) -> Iterator[str]:
    here = name.split(".") if path.name == "__init__.py" else name.split(".")[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            wanted = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            above = ["springfit", *filter(None, here)][: len([p for p in here if p]) + 2 - node.level]
            base = ".".join([*above, node.module] if node.module else above) if node.level else node.module
            wanted = [f"{base}.{alias.name}" for alias in node.names]
        else:
            continue
        for dotted in wanted:
            if dotted.split(".")[0] == "springfit":
                yield _module_of(dotted.split(".")[1:], modules)


def _module_of(parts: list[str], modules: dict[str, Path]) -> str:
    """The longest run of `parts` that is a module: the rest is a name inside it."""
    while parts and ".".join(parts) not in modules:
        parts = parts[:-1]
    return ".".join(parts)


def _level(module: str) -> int:
    if not module:
        return 9  # the package itself shows the front door's names; whoever needs the version asks `version`
    return LOWER_IN_ITS_ROOM.get(".".join(module.split(".")[:2]), LEVEL_OF_ROOM[module.split(".")[0]])


def _between_rooms(arrows: Arrows) -> Arrows:
    """The arrows between the rooms and single modules directly inside each room; arrows within one are left out."""
    outer: Arrows = {}
    for source, targets in arrows.items():
        here = ".".join(source.split(".")[:2])
        there = {".".join(target.split(".")[:2]) for target in targets}
        outer.setdefault(here, set()).update(there - {here})
    return {source: targets & outer.keys() for source, targets in outer.items()}


def _wrong_arrows(arrows: Arrows) -> list[str]:
    """Arrows that do not point down: to a higher level, or to another room or step of the same level."""
    wrong = []
    for source, targets in arrows.items():
        for target in targets:
            same_step = source.split(".")[0] == target.split(".")[0] and _level(source) == _level(target)
            hidden = source.split(".")[0] == "demo" and target.split(".")[0] in HIDDEN_FROM_DEMO
            if hidden or not (_level(target) < _level(source) or same_step):
                wrong.append(f"{source} (level {_level(source)}) imports {target} (level {_level(target)})")
    return sorted(wrong)


def _cycle(arrows: Arrows) -> list[str]:
    """One ring of modules that import each other, empty when there is none."""
    done: set[str] = set()

    def walk(module: str, trail: list[str]) -> list[str]:
        if module in trail:
            return [*trail[trail.index(module) :], module]
        if module in done:
            return []
        for target in sorted(arrows[module]):
            if found := walk(target, [*trail, module]):
                return found
        done.add(module)
        return []

    for module in sorted(arrows):
        if found := walk(module, []):
            return found
    return []


def _planted(folder: Path, files: dict[str, str]) -> Arrows:
    """Arrows of a small package of these files."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        (path.parent / "__init__.py").touch()
        path.write_text(text, encoding="utf-8")
    return _arrows(folder)


def test_every_arrow_points_down() -> None:
    arrows = _arrows(PACKAGE)
    assert sum(len(targets) for targets in arrows.values()) > 150, "the imports were not found"
    wrong = _wrong_arrows(arrows)
    assert not wrong, "\n".join(wrong)


def test_no_modules_import_each_other() -> None:
    ring = _cycle(_arrows(PACKAGE))
    assert not ring, " -> ".join(ring)


def test_no_rooms_inside_a_room_import_each_other() -> None:
    ring = _cycle(_between_rooms(_arrows(PACKAGE)))
    assert not ring, " -> ".join(ring)


def test_every_room_has_a_level() -> None:
    rooms = {name.split(".")[0] for name in _modules(PACKAGE) if name}
    assert rooms <= set(LEVEL_OF_ROOM), f"give {rooms - set(LEVEL_OF_ROOM)} a level"


def test_planted_wrong_arrows_are_found(tmp_path: Path) -> None:
    arrows = _planted(
        tmp_path,
        {
            "lengths.py": "",
            "geometry/meridian.py": "import springfit.lengths\nfrom springfit.mechanics import shell\n",
            "mechanics/shell.py": "def late():\n    from springfit.reporting.pdf import page\n",
            "reporting/pdf.py": "from ..geometry import meridian\npage = 1\n",
            "learning/features/__init__.py": "",
            "learning/features/batch.py": "from springfit.learning import model\n",
            "learning/model.py": "from .features.batch import anything\n",
            "demo/solid.py": "import springfit.learning.model\nfrom springfit.geometry.meridian import z\n",
            "cli.py": "from springfit.demo import solid\nfrom springfit.reporting import pdf\n",
        },
    )
    assert [line.replace("(level ", "(") for line in _wrong_arrows(arrows)] == [
        "demo.solid (6) imports learning.model (3)",
        "geometry.meridian (1) imports mechanics.shell (1)",
        "learning.features.batch (2) imports learning.model (3)",
        "mechanics.shell (1) imports reporting.pdf (5)",
    ]


def test_a_planted_ring_is_found(tmp_path: Path) -> None:
    arrows = _planted(
        tmp_path,
        {
            "records/book.py": "from springfit.records.reading import read\n",
            "records/reading.py": "from springfit.records.checks import check\n",
            "records/checks.py": "import springfit.records.book as book\n",
        },
    )
    assert not _wrong_arrows(arrows), "all in one room: the ladder alone would not have seen it"
    assert _cycle(arrows) == ["records.book", "records.reading", "records.checks", "records.book"]


def test_a_planted_ring_of_rooms_is_found(tmp_path: Path) -> None:
    arrows = _planted(
        tmp_path,
        {
            "records/book.py": "",
            "records/rules/keys.py": "import springfit.records.book\n",
            "records/rules/steel.py": "from springfit.records.checks.sizes import size\n",
            "records/checks/sizes.py": "",
            "records/checks/places.py": "from springfit.records.rules.keys import key\n",
        },
    )
    assert not _cycle(arrows), "no two modules import each other: only the rooms do"
    assert _cycle(_between_rooms(arrows)) == ["records.checks", "records.rules", "records.checks"]
