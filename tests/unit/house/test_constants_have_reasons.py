"""Every number that stands at the head of a module has its reason or its source beside it.

Beside it is: on its own lines, in the comment above it or above the first of the lines it stands among without a gap,
or in a text under it. A unit's own size (25.4) is its own reason.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import springfit

PACKAGE = Path(springfit.__file__).parent
UNITS = {25.4}  # mm in an inch, exact
NOTHING = {0, 1}  # inside a call or a comparison, where they are no size


def unreasoned(source: str) -> Iterator[int]:
    """Lines of numbers at the head of a module without a reason."""
    lines, body = source.splitlines(), ast.parse(source).body
    for place, node in enumerate(body):
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None or not _numbers(node.value):
            continue
        under = body[place + 1] if place + 1 < len(body) else None
        told = isinstance(under, ast.Expr) and isinstance(under.value, ast.Constant)
        if not told and not any("#" in line for line in _beside(lines, node.lineno, node.end_lineno or node.lineno)):
            yield node.lineno


def _beside(lines: list[str], first: int, last: int) -> list[str]:
    """A statement's lines and those above it up to a gap or to a comment and what that says."""
    above = first - 1
    while above > 0 and lines[above - 1].strip() and not lines[above - 1].lstrip().startswith("#"):
        above -= 1
    has_comment = above > 0 and lines[above - 1].lstrip().startswith("#")
    return lines[first - 1 : last] + ([lines[above - 1]] if has_comment else [])


def _numbers(value: ast.expr) -> bool:
    found = {
        abs(node.value)
        for node in ast.walk(value)
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool)
    }
    idle = NOTHING if any(isinstance(node, ast.Call | ast.Compare) for node in ast.walk(value)) else set()
    return bool(found - UNITS - idle)


def test_every_number_has_its_reason() -> None:
    bare = {
        f"{path.relative_to(PACKAGE)}:{line}"
        for path in PACKAGE.rglob("*.py")
        for line in unreasoned(path.read_text("utf-8"))
    }
    assert not bare


def test_a_bare_number_is_found_and_a_reasoned_one_is_not() -> None:
    source = (
        "A = 3.0\n\n# why\nB = 4.0\nC = {'x': 5.0}\n\nD = 6.0  # why\n\nE = 7.0\n'''Why.'''\n\n"
        "F = (8.0,\n  9.0)  # why\n\nG = 25.4\nH = 1\n"
    )
    assert list(unreasoned(source)) == [1, 16]
