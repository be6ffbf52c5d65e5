"""What every test shares: skips count as failures in CI, and what was counted is shown."""

from __future__ import annotations

import os
from collections.abc import Callable, Generator

import pytest
from hypothesis import settings

SHOWN = "shown at the end"

# No test judges by the clock: a busy machine would fail a slow example that is right.
settings.register_profile("at work", deadline=None)
# In CI the same examples each time, so that a change is judged by itself and not by luck.
settings.register_profile("in CI", deadline=None, derandomize=True)
settings.load_profile("in CI" if os.environ.get("CI") else "at work")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn skips into failures where QUIZSVC_NO_SKIPS is set (it is, in CI)."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail") and os.environ.get("QUIZSVC_NO_SKIPS"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was skipped, and QUIZSVC_NO_SKIPS is set: {call.excinfo}"
    return report


@pytest.fixture
def say(record_property) -> Callable[[str], None]:
    """Show a line at the end of the run: how much was asked, killed, compared."""
    return lambda words: record_property(SHOWN, words)


def pytest_terminal_summary(terminalreporter) -> None:
    """Show what tests have to say, also where they ran in other processes."""
    reports = [one for kind in ("passed", "failed") for one in terminalreporter.getreports(kind)]
    lines = [words for one in reports for name, words in one.user_properties if name == SHOWN]
    if lines:
        terminalreporter.section("counted")
        for words in lines:
            terminalreporter.line(words)
