"""What holds for every test: none is left out unseen, none depends on luck, none touches the user's own settings.

A test that was left out makes the run fail, unless ALLOW_SKIPS=1 says that this is known and accepted: it proves
nothing, and a run that ends green without it would hide that. So each one is named at the end, with its reason, and
the exit status is 1 where pytest alone would have said 0.
"""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import settings

# The same examples on every run and machine, and no time limit on one example: a shared machine has slow moments.
# HYPOTHESIS_PROFILE=default looks for new ones.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))

_left_out: dict[str, str] = {}


@pytest.fixture(autouse=True, scope="session")
def _home_of_the_tests(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Give the tests, and the commands that they run, a home of their own and a terminal without colour."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("HOME", "USERPROFILE", "APPDATA", "LOCALAPPDATA", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
            patch.setenv(name, str(home))
        for name in ("CARWRIGHT_DATA", "CARWRIGHT_TRACEBACK", "FORCE_COLOR"):
            patch.delenv(name, raising=False)
        patch.setenv("NO_COLOR", "1")
        patch.setenv("COLUMNS", "120")
        yield


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Remember each test that was skipped while it ran or was set up; an expected failure is not one."""
    if report.skipped and not hasattr(report, "wasxfail"):
        _left_out[report.nodeid] = _reason(report.longrepr)


def pytest_collectreport(report: pytest.CollectReport) -> None:
    """Remember each module that was skipped as a whole."""
    if report.skipped:
        _left_out[report.nodeid] = _reason(report.longrepr)


def _reason(longrepr: Any) -> str:
    """Return why a test was skipped, from the place, line and reason that pytest keeps."""
    return str(longrepr[2]) if isinstance(longrepr, tuple) else str(longrepr)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Turn a green run with tests left out into a failed one."""
    if _left_out and exitstatus == pytest.ExitCode.OK and os.environ.get("ALLOW_SKIPS") != "1":
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name the tests that were left out, above the closing line."""
    if not _left_out:
        return
    terminalreporter.section("left out")
    for name, reason in sorted(_left_out.items()):
        terminalreporter.write_line(f"{name}: {reason}")
    if os.environ.get("ALLOW_SKIPS") != "1":
        terminalreporter.write_line("A run with tests left out fails; ALLOW_SKIPS=1 accepts it.")
