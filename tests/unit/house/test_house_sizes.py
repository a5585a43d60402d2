"""The size of the house: files, functions and rooms that a reader can hold in mind, and one name for one file.

Held to it are the package and its tests, and what the package has beside its Python: scripts, styles and templates.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

from tests.helpers.repository import ROOT

PACKAGE, TESTS = ROOT / "springfit", ROOT / "tests"
MOST_LINES, MOST_LINES_OF_A_FUNCTION, MOST_MODULES = 250, 40, 14
WIDEST = 120  # letters of a script's line; lint holds Python to it
WRITTEN = (".py", ".js", ".css", ".html")
NAMED_ALIKE = ("__init__.py", "__main__.py", "conftest.py")  # what Python and pytest want called so
HOUSES = {"package": (PACKAGE, 220), "tests": (TESTS, 200)}  # each with fewer files than there are
_BLOCK = re.compile(r"\bfunction\b|=> \{$|^\s+\w+\([^)]*\) \{$")  # opens a function, or a method


def written(house: Path) -> list[Path]:
    """What somebody wrote there."""
    return [path for path in sorted(house.rglob("*")) if path.suffix in WRITTEN]


def functions(path: Path) -> dict[str, int]:
    """The functions of a file, and how many lines each has."""
    text = path.read_text("utf-8")
    if path.suffix == ".js":
        return script_functions(text)
    if path.suffix != ".py":
        return {}
    nodes = (node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
    return {f"{node.lineno}: {node.name}": (node.end_lineno or 0) - node.lineno + 1 for node in nodes}


def script_functions(text: str) -> dict[str, int]:
    """The functions of a script: each ends at the first brace that stands as far in as its own first line."""
    lines, found = text.splitlines(), {}
    for number, line in enumerate(lines):
        if _BLOCK.search(line) and not re.match(r"\s*(if|for|while|switch|catch)\b", line):
            margin = line[: len(line) - len(line.lstrip())]
            end = next(n for n in range(number, len(lines)) if re.match(rf"{margin}\}}", lines[n]) or "{" not in line)
            found[f"{number + 1}: {line.strip()}"] = end - number + 1
    return found


@pytest.mark.parametrize("house", HOUSES)
def test_no_file_is_longer_than_a_reader_can_hold(house: str) -> None:
    folder, least = HOUSES[house]
    lines = {str(path.relative_to(ROOT)): len(path.read_text("utf-8").splitlines()) for path in written(folder)}
    assert len(lines) > least, "the files were not found"
    assert not {name: count for name, count in lines.items() if count > MOST_LINES}


@pytest.mark.parametrize("house", HOUSES)
def test_no_function_is_longer_than_a_reader_can_hold(house: str) -> None:
    folder, least = HOUSES[house]
    found = {
        f"{path.relative_to(ROOT)}:{name}": lines
        for path in written(folder)
        for name, lines in functions(path).items()
    }
    assert len(found) > 4 * least, "the functions were not found"
    assert not {name: lines for name, lines in found.items() if lines > MOST_LINES_OF_A_FUNCTION}


def test_the_functions_of_a_script_are_measured() -> None:
    body = "  call();\n" * 3
    text = f"export async function one(a) {{\n{body}}}\n\nconst two = (b) => {{\n{body}}};\n\n"
    text += f"const three = (c) => c + 1;\nclass Four {{\n  five(d) {{\n  {body}  }}\n}}\n"
    assert list(script_functions(text).values()) == [5, 5, 5]


def test_no_line_of_a_script_is_wider_than_a_reader_sees() -> None:
    scripts = [path for path in written(PACKAGE) if path.suffix == ".js"]
    assert len(scripts) > 20, "the scripts were not found"
    wide = [
        f"{path.name}:{number}"
        for path in scripts
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if len(line) > WIDEST
    ]
    assert not wide


@pytest.mark.parametrize("house", HOUSES)
def test_no_room_holds_more_than_a_reader_can_hold(house: str) -> None:
    folder, _ = HOUSES[house]
    files = [path for path in written(folder) if path.name != "__init__.py"]
    held = Counter(str(path.parent.relative_to(ROOT)) for path in files)
    assert not {room: count for room, count in held.items() if count > MOST_MODULES}


def test_no_file_name_means_two_things() -> None:
    names = Counter(path.name for house in (PACKAGE, TESTS) for path in written(house))
    assert not {name for name, count in names.items() if count > 1 and name not in NAMED_ALIKE}


def test_every_script_says_at_its_top_what_it_does() -> None:
    for path in written(PACKAGE):
        if path.suffix == ".js":
            said = re.match(r"/\* [A-Z][^*]+[.] \*/\n", path.read_text("utf-8"))
            assert said, f"{path.name} says not what it does"


def test_every_room_says_what_is_in_it_and_what_is_not() -> None:
    for path in PACKAGE.rglob("__init__.py"):
        if "data" not in path.relative_to(PACKAGE).parts:
            said = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
            assert said, f"{path} says nothing of its room"
            assert re.search(r"\b(not|no|never|nothing)\b", said, re.IGNORECASE), f"{path} says not what is left out"


def test_no_test_is_taken_from_another_test() -> None:
    for path in TESTS.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            module = node.module or "" if isinstance(node, ast.ImportFrom) else ""
            assert not module.split(".")[-1].startswith("test_"), f"{path.name}: what two files share is a helper"
