"""The demo's bells must not come from the model that is judged on them."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import springfit.demo

FORBIDDEN = ("springfit.mechanics", "springfit.learning", "springfit.decisions", "springfit.watching")
FOLDER = Path(springfit.demo.__file__).parent


def _imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {f"{node.module}.{alias.name}" for alias in node.names} | {str(node.module)}
    return names


def test_no_file_of_the_demo_names_the_model() -> None:
    files = sorted(FOLDER.rglob("*.py"))
    assert len(files) > 10
    for path in files:
        wrong = [name for name in _imported(path) if name.startswith(FORBIDDEN)]
        assert not wrong, f"{path.name} imports {wrong}"


def test_generating_loads_no_part_of_the_model() -> None:
    script = (
        "import sys, springfit.demo.generate\n"
        f"print([name for name in sys.modules if name.startswith({FORBIDDEN!r})])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
