"""The page's scripts: what a page or a script names is served, all that lies there is, and no two import each other."""

from __future__ import annotations

import posixpath
import re
from pathlib import Path

import springfit
from springfit.bench.web.application import _STATIC

WEB = Path(springfit.__file__).parent / "bench" / "web"


def _imports(name: str) -> set[str]:
    """What a script imports, as it is served."""
    text = (WEB / "static" / name).read_text("utf-8")
    named = re.findall(r'^import (?:[^;]* from )?"(\.[^"]+)";$', text, re.MULTILINE)
    assert len(named) == len(re.findall(r"\bimport\b", text)), f"{name}: an import that is not read here"
    return {posixpath.normpath(posixpath.join(posixpath.dirname(name), one)) for one in named}


def _scripts() -> set[str]:
    return {name for name in _STATIC if name.endswith(".js")}


def _pages_load() -> set[str]:
    """What templates name of `static/`."""
    texts = [path.read_text("utf-8") for path in (WEB / "templates").iterdir()]
    return {name for text in texts for name in re.findall(r'(?:src|href)="/static/([^"]+)"', text)}


def test_what_lies_there_is_served_and_nothing_else() -> None:
    lying = {path.relative_to(WEB / "static").as_posix() for path in (WEB / "static").rglob("*") if path.is_file()}
    assert lying == set(_STATIC)


def test_what_is_named_is_served_and_what_is_served_is_named() -> None:
    named = _pages_load().union(*(_imports(name) for name in _scripts()))
    assert named == set(_STATIC)


def test_no_two_scripts_import_each_other() -> None:
    left = {name: _imports(name) for name in _scripts()}
    assert sum(map(len, left.values())) > 40, "the imports were not found"
    while free := {name for name, imports in left.items() if not imports}:
        left = {name: imports - free for name, imports in left.items() if name not in free}
    assert not left, "these import each other in a ring"


def test_every_name_that_is_imported_is_given() -> None:
    for name in _scripts():
        text = (WEB / "static" / name).read_text("utf-8")
        for names, path in re.findall(r'^import \{([^}]*)\} from "([^"]+)";$', text, re.MULTILINE):
            given = (WEB / "static" / posixpath.dirname(name) / path).read_text("utf-8")
            for one in (part.strip() for part in names.split(",")):
                assert re.search(rf"^export (async )?(function|const) {one}\b", given, re.MULTILINE), (name, one)
                assert len(re.findall(rf"\b{one}\b", text)) > 1, f"{name} imports {one} and does not use it"
