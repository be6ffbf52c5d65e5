"""`quizsvc backup`, `restore`, `doctor`, `audit verify` as an operator meets them."""

from __future__ import annotations

import pytest
from click.testing import CliRunner
from sqlalchemy import text

from quizsvc.cli.main import quizsvc
from quizsvc.config import settings_from
from quizsvc.services.house import House


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setenv("QUIZSVC_INSTANCE", str(tmp_path / "instance"))
    monkeypatch.delenv("DATABASE_URL", raising=False)

    def invoke(*arguments, **settings):
        return CliRunner().invoke(quizsvc, arguments, **settings)

    assert invoke("database", "upgrade").exit_code == 0
    return invoke


def spoil_audit(statement):
    house = House.open(settings_from())
    with house.write() as connection:
        connection.execute(text("DROP TRIGGER IF EXISTS audit_entry_no_update"))
        connection.execute(text(statement))
    house.close()


def test_backup_check_and_restore(run, tmp_path):
    file = str(tmp_path / "b.zip")

    made = run("backup", file)
    checked = run("backup", "--check", file)
    restored = run("restore", file, "--yes")

    assert (made.exit_code, checked.exit_code, restored.exit_code) == (0, 0, 0), restored.output
    assert "checked" in made.output
    assert "whole" in checked.output
    assert "before-restore" in restored.output


def test_a_missing_backup_is_one_clear_line(run):
    result = run("restore", "nowhere.zip", "--yes")

    assert result.exit_code == 1
    assert "no such file" in result.output
    assert "Traceback" not in result.output


def test_doctor_is_content_with_a_fresh_installation(run):
    result = run("doctor")

    assert result.exit_code == 0, result.output
    assert "unbroken" in result.output


def test_an_unbroken_log_prints_the_end_to_note(run):
    result = run("audit", "verify")

    assert result.exit_code == 0
    assert "0:" + "0" * 64 in result.output


def test_a_cut_off_tail_shows_against_a_noted_end(run):
    result = run("audit", "verify", "--anchor", "5:" + "a" * 64)

    assert result.exit_code == 1
    assert "ends before" in result.output


def test_what_is_no_anchor_is_refused(run):
    result = run("audit", "verify", "--anchor", "five")

    assert result.exit_code == 1
    assert "anchor" in result.output


def test_a_head_that_lies_shows(run):
    spoil_audit("UPDATE audit_head SET number = 3")

    result = run("audit", "verify")

    assert result.exit_code == 1
    assert "breaks" in result.output
