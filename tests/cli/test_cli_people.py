"""`quizsvc people …`, as a person runs it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from click.testing import CliRunner

from quizsvc.cli.main import quizsvc
from quizsvc.config import settings_from
from quizsvc.rules.second_factor import code_at, step_at
from quizsvc.services import accounts, second_factor, typed_codes
from quizsvc.services.house import House
from quizsvc.services.second_factor import Proof
from quizsvc.services.second_step import HalfWay
from quizsvc.services.typed_codes import TypedCode
from quizsvc.store import second_factors

WORDS = "a lamp beside the long bench"
HERE = "192.0.2.10"  # a documentation address, RFC 5737


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


@pytest.fixture
def locked_out(run):
    """Adi, the only administrator, has a second factor and has lost it; return the house."""
    made = run("shop", "add", "Shop", "--manager", "Adi", "--sign-in", "adi", "--password", WORDS)
    assert made.exit_code == 0, made.output
    house, now = House.open(settings_from()), datetime.now(UTC)
    token = accounts.sign_in(house, "adi", WORDS, now=now, source=HERE)
    adi = accounts.actor_for_token(house, token, now=now)
    second_factor.begin(house, adi, now=now)
    with house.read() as connection:
        factor = second_factors.factor_of(connection, adi.person_id)
    code = code_at(typed_codes.secret_of(house, factor), step_at(now))
    second_factor.turn_on(house, adi, Proof(WORDS, TypedCode(code)), now=now, source=HERE)
    yield house
    house.close()


def signed_in(house):
    return accounts.sign_in(house, "adi", WORDS, now=datetime.now(UTC), source=HERE)


def test_a_locked_out_administrator_is_let_in_again_by_whoever_runs_the_server(run, locked_out):
    assert isinstance(signed_in(locked_out), HalfWay)

    result = run("people", "reset-second-factor", "Adi", "--yes")

    assert (result.exit_code, result.output.startswith("Reset.")) == (0, True), result.output
    assert isinstance(signed_in(locked_out), str)
    assert "unbroken" in run("audit", "verify").output


def test_it_asks_before_it_resets_and_names_who_is_not_there(run, locked_out):
    assert run("people", "reset-second-factor", "adi").exit_code == 1
    assert isinstance(signed_in(locked_out), HalfWay)

    unknown = run("people", "reset-second-factor", "nobody", "--yes")
    assert unknown.exit_code == 1
    assert "nobody signs in with this name" in unknown.output
