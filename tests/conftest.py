"""What every test shares: in CI a skipped test is a failure, so that nothing passes unseen."""

from __future__ import annotations

import os
from collections.abc import Generator

import pytest
from hypothesis import settings

# No test judges by the clock: a busy machine would fail a slow example that is right.
settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")


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
