"""`quizsvc people retention`, as a person runs it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from quizsvc.cli.main import quizsvc


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setenv("QUIZSVC_INSTANCE", str(tmp_path))
    monkeypatch.delenv("DATABASE_URL", raising=False)
    started = lambda *words: CliRunner().invoke(quizsvc, list(words))  # noqa: E731 - one line
    assert started("database", "upgrade").exit_code == 0
    return started


def test_a_dry_run_says_every_rule_and_changes_nothing(run):
    result = run("people", "retention", "--dry-run")

    assert result.exit_code == 0
    for words in ("sessions", "1095", "people who left", "Nothing was changed."):
        assert words in result.output


def test_a_run_is_noted_in_the_log_which_verifies(run):
    assert run("people", "retention").exit_code == 0

    assert "unbroken" in run("audit", "verify").output
