"""Whatever stands in `mechanics` is asked for by some command: what none reaches is a check, or goes.

Read from the sources, not run: from the command line along the names that reached code uses. A module's own statements
are reached once it is imported; a function or class once reached code names it; a method once its class is reached and
reached code names it as an attribute of anything, which errs toward reached.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import springfit

PACKAGE = Path(springfit.__file__).parent

# Not asked for yet, each with who will: to be emptied.
TEMPORARY: dict[str, str] = {}

Node = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
Definition = ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef


@dataclass
class Module:
    """One file: its definitions by name, methods as "Class.method", what its names mean, and its own statements."""

    definitions: dict[str, Node] = field(default_factory=dict)
    meaning: dict[str, str] = field(default_factory=dict)
    statements: list[ast.stmt] = field(default_factory=list)


def read_package(package: Path, name: str) -> dict[str, Module]:
    """Modules by dotted name without the package's own."""
    modules = {}
    for path in sorted(package.rglob("*.py")):
        parts = path.relative_to(package).with_suffix("").parts
        dotted = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        modules[dotted] = _read(ast.parse(path.read_text("utf-8")), name)
    return modules


def _read(tree: ast.Module, package: str) -> Module:
    module = Module()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == package:
            inside = (node.module or "")[len(package) + 1 :]
            for alias in node.names:
                module.meaning[alias.asname or alias.name] = f"{inside}.{alias.name}".strip(".")
        elif isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.startswith(package + "."):
                    module.meaning[alias.asname or alias.name] = alias.name[len(package) + 1 :]
    for statement in tree.body:
        if not isinstance(statement, Definition):
            module.statements.append(statement)
            continue
        module.definitions[statement.name] = statement
        if isinstance(statement, ast.ClassDef):
            for inner in statement.body:
                if isinstance(inner, Definition):
                    module.definitions[f"{statement.name}.{inner.name}"] = inner
    return module


def reached_from(modules: dict[str, Module], start: str) -> set[str]:
    """Everything reached, as "module" and "module.definition"."""
    reached: set[str] = set()
    attributes: set[str] = set()
    waiting = {start, *(f"{start}.{name}" for name in modules[start].definitions)}
    while waiting:
        name = waiting.pop()
        reached.add(name)
        module, definition = _split(name, modules)
        waiting |= {module, *_named(modules[module], module, definition, modules)} - reached
        attributes |= _attributes(modules[module], definition)
        if not waiting:
            waiting = _methods_named(modules, reached, attributes) - reached
    return reached


def _split(name: str, modules: dict[str, Module]) -> tuple[str, str]:
    """The module and the definition within it of a dotted name."""
    parts = name.split(".")
    for cut in range(len(parts), -1, -1):
        if ".".join(parts[:cut]) in modules:
            return ".".join(parts[:cut]), ".".join(parts[cut:])
    raise KeyError(name)


def _code(module: Module, definition: str) -> list[ast.AST]:
    """What runs when a definition is used; of a class all but its methods, which are used on their own."""
    if not definition:
        return list(module.statements)
    node = module.definitions[definition]
    if isinstance(node, ast.ClassDef):
        body = [inner for inner in node.body if not isinstance(inner, Definition)]
        return [*body, *node.bases, *node.decorator_list]
    return [node]


def _named(module: Module, own: str, definition: str, modules: dict[str, Module]) -> Iterator[str]:
    for code in _code(module, definition):
        for node in ast.walk(code):
            if isinstance(node, ast.ImportFrom | ast.Import):
                for alias in node.names:
                    meaning = module.meaning.get(alias.asname or alias.name)
                    if meaning is not None:
                        yield _split(meaning, modules)[0]
            elif isinstance(node, ast.Name):
                if node.id in module.definitions:
                    yield f"{own}.{node.id}".strip(".")
                elif node.id in module.meaning:
                    yield from _known(module.meaning[node.id], modules)
            elif isinstance(node, ast.Attribute):
                dotted = ast.unparse(node)
                head = next((known for known in module.meaning if dotted.startswith(known + ".")), None)
                if head is not None:
                    yield from _known(module.meaning[head] + dotted[len(head) :], modules)


def _known(meaning: str, modules: dict[str, Module]) -> Iterator[str]:
    """A dotted name as far as it is a module or a definition, and what a name handed on by a module stands for."""
    module, rest = _split(meaning, modules)
    yield module
    name = rest.split(".")[0]
    if name in modules[module].definitions:
        yield f"{module}.{name}".strip(".")
    elif name in modules[module].meaning:
        yield from _known(modules[module].meaning[name], modules)


def _attributes(module: Module, definition: str) -> set[str]:
    return {
        node.attr
        for code in _code(module, definition)
        for node in ast.walk(code)
        if isinstance(node, ast.Attribute)
    }


def _methods_named(modules: dict[str, Module], reached: set[str], attributes: set[str]) -> set[str]:
    """Methods of reached classes that reached code names, or that Python itself calls."""
    found = set()
    for name, module in modules.items():
        for definition in module.definitions:
            owner, _, method = definition.rpartition(".")
            if owner and f"{name}.{owner}".strip(".") in reached and (method in attributes or method[:2] == "__"):
                found.add(f"{name}.{definition}".strip("."))
    return found


def unreached_lines(modules: dict[str, Module], room: str, start: str = "cli") -> dict[str, int]:
    """Lines of each definition of `room` that is not reached, methods counted once, with their class or alone."""
    reached = reached_from(modules, start)
    lines: dict[str, int] = {}
    for name, module in modules.items():
        if name.split(".")[0] != room:
            continue
        for definition, node in module.definitions.items():
            whole = f"{name}.{definition}"
            if whole not in reached and whole.rpartition(".")[0] not in lines:
                lines[whole] = (node.end_lineno or node.lineno) - node.lineno + 1
    return lines


def _excused(name: str) -> bool:
    return any(name.startswith(known) for known in TEMPORARY)


@cache
def unreached_here() -> dict[str, int]:
    """What no command reaches of this package's mechanics; the walk takes seconds."""
    return unreached_lines(read_package(PACKAGE, "springfit"), "mechanics")


def test_every_line_of_mechanics_is_reached_by_a_command() -> None:
    unreached = unreached_here()
    assert not {name: lines for name, lines in unreached.items() if not _excused(name)}


def test_no_excuse_outlives_its_reason() -> None:
    unreached = unreached_here()
    assert not [known for known in TEMPORARY if not any(name.startswith(known) for name in unreached)]


def test_most_of_the_package_is_reached() -> None:
    """The walk itself works: it goes all the way down to the shell's assembly."""
    reached = reached_from(read_package(PACKAGE, "springfit"), "cli")
    assert {"mechanics.shell.assembly.solved", "mechanics.shell.release.ShellOfRevolution.release"} <= reached


def test_planted_idle_code_is_found(tmp_path: Path) -> None:
    files = {
        "cli.py": "from house.work import Worker\ndef main():\n    Worker().run()\n",
        "work.py": "from house.mechanics import tools\nclass Worker:\n    def run(self):\n        tools.used()\n",
        "mechanics/__init__.py": "",
        "mechanics/tools.py": "def used():\n    return _helper()\ndef _helper():\n    return 1\ndef idle():\n    pass\n"
        "class Box:\n    def open(self):\n        pass\n",
        "mechanics/never.py": "from house.mechanics.tools import idle\ndef alone():\n    idle()\n",
        "__init__.py": "",
    }
    for name, text in files.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    found = unreached_lines(read_package(tmp_path, "house"), "mechanics")
    assert found == {"mechanics.never.alone": 2, "mechanics.tools.idle": 2, "mechanics.tools.Box": 3}
