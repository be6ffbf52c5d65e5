"""What is told in the log of codes and of second factors: events and numbers, nothing typed."""

from __future__ import annotations

from datetime import timedelta

import pytest
import structlog
from second_steps import (
    HERE,
    STEP,
    code_of,
    finish,
    half_way,
    light_hashes,
    proof,
    turned_on,
    wrong_code_of,
)
from structlog.testing import LogCapture
from workshop import NOON

from quizsvc.errors import NotAllowedError
from quizsvc.services import reset_second_factor, second_factor, security_events

LATER = NOON + timedelta(minutes=10)
__all__ = ["light_hashes"]  # a fixture


@pytest.fixture
def told(monkeypatch):
    capture = LogCapture()
    monkeypatch.setattr(security_events, "_log", structlog.wrap_logger(None, processors=[capture]))
    return capture.entries


def test_both_steps_of_a_sign_in_are_told_by_number(house, ana, told):
    turned_on(house, ana)
    told.clear()
    token, wrong = half_way(house, now=LATER), wrong_code_of(house, ana, LATER)
    with pytest.raises(NotAllowedError):
        finish(house, token, wrong, now=LATER)
    right = code_of(house, ana, LATER)
    finish(house, token, right, now=LATER)

    assert [(line["event"], line["log_level"]) for line in told] == [
        ("code awaited", "info"),
        ("code failed", "warning"),
        ("signed in", "info"),
    ]
    assert {line["person"] for line in told} == {ana.person_id}
    assert not {wrong, right, token, "ana", HERE} & {
        str(value) for line in told for value in line.values()
    }


def test_every_change_of_a_second_factor_is_told(house, ana, workshop, told):
    turned_on(house, ana)
    second_factor.renew_recovery_codes(house, ana, proof(house, ana, LATER), now=LATER, source=HERE)
    soon = LATER + STEP
    second_factor.turn_off(house, ana, proof(house, ana, soon), now=soon, source=HERE)
    later = soon + STEP
    turned_on(house, ana, now=later)
    reset_second_factor.reset(house, workshop.people["max"], ana.person_id, now=later)

    changes = [line["to"] for line in told if line["event"] == "second factor changed"]
    assert changes == ["on", "new recovery codes", "off", "on", "reset"]


def test_a_wrong_password_in_proving_it_is_told_as_such(house, ana, told):
    turned_on(house, ana)
    told.clear()

    with pytest.raises(NotAllowedError):
        second_factor.turn_off(
            house, ana, proof(house, ana, LATER, password="guess"), now=LATER, source=HERE
        )

    assert [line["event"] for line in told] == ["password not confirmed"]
