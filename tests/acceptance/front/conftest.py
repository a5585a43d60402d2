"""A sound book that was learned, and commands run in this process."""

from __future__ import annotations

import pytest

from springfit.cli import main
from tests.helpers.books.small_book import drawn, sheets, write
from tests.helpers.programs.command_runs import Ran, Run, Trained


@pytest.fixture(scope="module")
def trained(tmp_path_factory: pytest.TempPathFactory) -> Trained:
    folder = tmp_path_factory.mktemp("trained")
    book, store = write(folder / "book", drawn(sheets())), folder / "store"
    assert main(["train", str(book), "--store", str(store)]) == 0
    return Trained(book, store)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command; every case is held to saying no traceback."""

    def ran(*arguments: object) -> Ran:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        assert "Traceback" not in captured.out + captured.err
        return Ran(code, captured.out, [line for line in captured.err.splitlines() if line.strip()])

    return ran
