"""What several tests share: the folder of the sample shops, long files first where several run side by side, and that
nothing is skipped unseen where CI is set."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

# Reasons for which a test may be skipped where CI is set; any other skip fails the run. Each starts the reason given.
ALLOWED_SKIPS = (
    "the sample shops are not here",  # they lie outside the repository: a fresh clone has none
    "not a clone: git cannot say what is committed",  # an unpacked archive
    "no browser is here: install",  # the rest names the packages; `.ci/run` installs them or stops
    "SCIPY_ARRAY_API is not set",  # scikit-learn's own check of arrays that are not numpy's; ours are numpy's
)
_unexpected: list[str] = []
if "PYTEST_XDIST_WORKER" in os.environ:
    # Every core has its own tests: a test that starts a process a core beside itself only waits for them to load.
    os.environ.setdefault("LOKY_MAX_CPU_COUNT", "1")
# Files of twenty seconds and more of one core, longest first: begun last, one of them would keep a core alone. The
# first lays, and so compiles the laying engine for all; the three behind it lay nothing and leave it the time.
LONG = (
    "test_verdicts_learned", "test_add_workbook_interrupted", "test_variance_components", "test_geometry_facets",
    "test_bench_whole_way", "test_forecasts_sample_shop", "test_interrupted_commands", "test_old_versions",
    "test_cluster", "test_report_looks", "test_command_refusals", "test_update_sample_shop", "test_joint_forecast",
    "test_hostile_sheets_refused", "test_add_interrupted", "test_watch_command", "test_add_sheets",
    "test_hostile_sheets_of_people", "test_records_round_trips", "test_front_door", "test_store",
    "test_sheets_of_a_shop", "test_leaving_out", "test_bench_nothing_lost", "test_back_passes_elsewhere",
    "test_survey_command", "test_books_that_fold", "test_records_any_bytes", "test_reporting_pages",
    "test_facet_laws", "test_effects_sample_shop",
)  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long files first."""
    place = {name: index for index, name in enumerate(LONG)}
    items.sort(key=lambda item: place.get(item.path.stem, len(LONG)))


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note every skip whose reason is not on the list."""
    if report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if not reason.removeprefix("Skipped: ").startswith(ALLOWED_SKIPS):
            _unexpected.append(f"{report.nodeid}: {reason}")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where CI is set, a skip that is not on the list fails the run."""
    if os.environ.get("CI") and _unexpected and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say which tests were skipped without leave."""
    if os.environ.get("CI"):
        for line in _unexpected:
            terminalreporter.write_line(f"skipped, and its reason is not in tests/conftest.py: {line}", red=True)


@pytest.fixture(scope="session")
def shared() -> Path:
    """The folder with the sample shops, or a skip that says why."""
    from tests.helpers.repository import sample_shops

    folder = sample_shops()
    if not folder.is_dir():
        pytest.skip("the sample shops are not here; SPRINGFIT_SHARED may name their folder")
    return folder


@pytest.fixture(scope="session")
def example_report(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str], Path]:
    """The folder with the report of the made-up correction of a verdict in a unit, written once: two seconds each."""

    @cache
    def written(verdict: str, units: str) -> Path:
        from springfit.reporting import write_correction
        from tests.helpers.corrections.reporting_example import example_correction

        out = tmp_path_factory.mktemp("report") / verdict
        write_correction(example_correction(verdict=verdict), out, units=units)  # type: ignore[arg-type]
        return out

    return written
