"""What stands at the top of the repository, what is packed from it, and what its first page promises."""

from __future__ import annotations

import importlib.metadata
import re
import subprocess
import sys
import tomllib

import pytest

import springfit
from springfit.demo.locate import demo_folder
from springfit.learning.versions.model_file import FORMAT
from tests.helpers.programs.kept_model import NAMED
from tests.helpers.repository import ROOT

TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "springfit",
    "datasets",
    "models",
    "tests",
    "reports",
}
# Folders of data in the installed package: datasets/, laid there on installation, and pages to fill in.
DATA_FOLDERS = {
    "springfit.bench.web.static", "springfit.bench.web.static.pages", "springfit.bench.web.static.sheet",
    "springfit.bench.web.templates", "springfit.demo.data", "springfit.reporting.pages.templates",
}


def _settings() -> dict:  # type: ignore[type-arg]
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def committed() -> list[str]:
    """Paths that git keeps, or a skip where the tests run without a clone."""
    if not (ROOT / ".git").exists():
        pytest.skip("not a clone: git cannot say what is committed")
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def test_the_top_level_is_as_designed(committed: list[str]) -> None:
    seen = {path.split("/")[0] for path in committed}
    assert {name for name in seen if not name.startswith(".")} == TOP


def test_only_the_sample_is_kept_of_what_is_made(committed: list[str]) -> None:
    made = [path for path in committed if path.startswith(("models/", "reports/"))]
    extra = [
        path for path in made if not path.startswith("reports/sample/") and not path.endswith("/README.md")
    ]
    assert not extra


def test_every_folder_of_the_package_is_packed() -> None:
    folders = {
        ".".join(path.parent.relative_to(ROOT).parts) for path in (ROOT / "springfit").rglob("__init__.py")
    }
    packed = set(_settings()["tool"]["setuptools"]["packages"])
    assert packed == folders | DATA_FOLDERS, "name new folders in pyproject.toml"


def test_every_file_beside_the_code_is_packed() -> None:
    patterns = _settings()["tool"]["setuptools"]["package-data"]
    kept = {
        path
        for package, globs in patterns.items()
        for pattern in globs
        for path in (ROOT / package.replace(".", "/")).glob(pattern)
        if path.is_file()
    }
    beside = {
        path
        for path in (ROOT / "springfit").rglob("*")
        if path.is_file() and path.suffix != ".py" and "__pycache__" not in path.parts
    }
    assert beside == kept, f"not packed: {sorted(str(path) for path in beside - kept)}"


def test_the_demo_is_where_it_is_looked_for() -> None:
    found = {path.relative_to(demo_folder()).as_posix() for path in demo_folder().rglob("*.csv")}
    assert {"demo-shop/mandrels.csv", "draft_mandrel.csv", "draft_conditions.csv"} <= found


def test_the_version_is_said_once_and_the_same() -> None:
    stated = _settings()["project"]["version"]
    assert stated == springfit.__version__ == importlib.metadata.version("springfit")
    assert f"### {stated}" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_a_licence_is_named() -> None:
    assert _settings()["project"]["license"] == "MIT"


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "datasets/README.md", "reports/README.md"])
def test_links_and_pictures_of_a_page_exist(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", text):
        if "://" not in target:
            assert ((ROOT / page).parent / target).exists(), f"{page} points to {target}"


@pytest.mark.parametrize("page", ["DEVELOPERS.md", "README.md"])
def test_tests_that_a_page_names_are_there(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8").replace("model_format_N", f"{NAMED}{FORMAT}")
    paths = set(re.findall(r"\btests/[\w/.]*\w", text))
    paths |= {name.replace(".", "/") for name in re.findall(r"-m (tests\.[\w.]*\w)", text)}
    assert len(paths) > 15 or page != "DEVELOPERS.md", "the paths were not found"
    gone = {path for path in paths if not (ROOT / path).exists() and not (ROOT / f"{path}.py").exists()}
    assert not gone, f"{page} names what is not there"


def test_the_first_page_names_every_command_and_verdict() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "springfit.cli", "--help"], capture_output=True, text=True, check=True
    )
    commands = re.findall(r"^    (\w+) ", done.stdout, re.MULTILINE)
    assert len(commands) >= 6
    for command in commands:
        assert f"`springfit {command}" in text, f"{command} is not in README.md"
    for verdict in ("leave", "slide", "process", "wait", "recut", "new_flare"):
        assert f"`{verdict}`" in text


def test_the_developers_page_names_every_file_of_the_package() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    demo = set(re.findall(r"\w+", (ROOT / "springfit/demo/__init__.py").read_text(encoding="utf-8")))
    for path in (ROOT / "springfit").rglob("*.py"):
        # The many files of one idea may be named together, as in `shell_*`.
        names = (f"`{path.stem}`", f"{path.name}`", f"`{path.stem.split('_')[0]}_*`")
        named = any(name in text for name in names) or (path.parent.name == "demo" and path.stem in demo)
        assert named or path.stem == "__init__", f"say in DEVELOPERS.md what {path.name} holds"


def test_the_developers_page_names_every_source() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    sources = list((ROOT / "tests" / "reference").rglob("test_*.py"))
    assert len(sources) > 15, "the sources were not found"
    for path in sources:
        assert f"`{path.stem}`" in text, f"say in DEVELOPERS.md what {path.name} is held to"


def test_the_first_page_has_its_two_commands_on_one_line_each() -> None:
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    commands = [line for line in lines if line.startswith("    ") and "-m venv" in line]
    assert len(commands) == 2
    assert "springfit demo" in commands[0] and "pip install ." in commands[0]
    assert "pytest" in commands[1] and "pip install -e '.[test]'" in commands[1]
