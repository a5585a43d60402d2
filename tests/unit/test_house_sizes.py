"""The size of the house: files, functions and rooms that a reader can hold in mind, and one name for one file."""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path

import springfit

PACKAGE = Path(springfit.__file__).parent
MOST_LINES, MOST_LINES_OF_A_FUNCTION, MOST_MODULES = 250, 40, 14


def _modules() -> list[Path]:
    return [path for path in sorted(PACKAGE.rglob("*.py")) if path.name != "__init__.py"]


def test_no_file_is_longer_than_a_reader_can_hold() -> None:
    lines = {str(path.relative_to(PACKAGE)): len(path.read_text("utf-8").splitlines()) for path in _modules()}
    assert len(lines) > 150, "the modules were not found"
    assert not {name: count for name, count in lines.items() if count > MOST_LINES}


def test_no_function_is_longer_than_a_reader_can_hold() -> None:
    long = {
        f"{path.relative_to(PACKAGE)}:{node.name}": node.end_lineno - node.lineno + 1
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef)
        and node.end_lineno is not None
        and node.end_lineno - node.lineno + 1 > MOST_LINES_OF_A_FUNCTION
    }
    assert not long


def test_no_room_holds_more_than_a_reader_can_hold() -> None:
    held = Counter(str(path.parent.relative_to(PACKAGE)) for path in _modules())
    assert not {room: count for room, count in held.items() if count > MOST_MODULES}


def test_no_file_name_means_two_things() -> None:
    names = Counter(path.name for path in _modules())
    assert not {name for name, count in names.items() if count > 1}


def test_every_room_says_what_is_in_it_and_what_is_not() -> None:
    for path in PACKAGE.rglob("__init__.py"):
        if "data" not in path.relative_to(PACKAGE).parts:
            said = ast.get_docstring(ast.parse(path.read_text("utf-8"))) or ""
            assert said, f"{path} says nothing of its room"
            assert re.search(r"\b(not|no|never|nothing)\b", said, re.IGNORECASE), f"{path} says not what is left out"
