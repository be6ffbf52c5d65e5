"""What is told of signing in: the event and numbers, and never who it was in words."""

from __future__ import annotations

import pytest
import structlog
from structlog.testing import LogCapture
from workshop import NOON, PASSWORD

from quizsvc.errors import NotAllowedError, UnavailableError
from quizsvc.services import accounts, security_events

HERE = "192.0.2.10"  # documentation address, RFC 5737


@pytest.fixture
def told(monkeypatch):
    capture = LogCapture()
    logger = structlog.wrap_logger(None, processors=[capture])
    monkeypatch.setattr(security_events, "_log", logger)
    return capture.entries


def sign_in(house, name="ana", password=PASSWORD):
    return accounts.sign_in(house, name, password, now=NOON, source=HERE)


def test_a_sign_in_is_told_with_the_persons_number(house, ana, told):
    sign_in(house)

    (line,) = told
    assert line["event"] == "signed in"
    assert line["person"] == ana.person_id
    assert line["log_level"] == "info"


@pytest.mark.parametrize("name", ["ana", "nobody"])
def test_a_failed_sign_in_is_a_warning_and_holds_nothing_typed(house, ana, told, name):
    with pytest.raises(NotAllowedError):
        sign_in(house, name, "not this one")

    (line,) = told
    assert line["event"] == "sign-in failed"
    assert line["log_level"] == "warning"
    assert line["person"] == (ana.person_id if name == "ana" else None)
    assert not {"ana", "nobody", "not this one", HERE} & {str(value) for value in line.values()}


def test_the_brake_on_guessing_is_told(house, told):
    for _ in range(8):
        with pytest.raises(NotAllowedError):
            sign_in(house, password="guess")
    with pytest.raises(UnavailableError):
        sign_in(house)

    assert [line["event"] for line in told] == ["sign-in failed"] * 8 + ["sign-in braked"]


def test_an_address_is_told_by_a_stand_in_that_only_the_secret_can_make(told):
    for address, secret in ((HERE, "one"), (HERE, "one"), (HERE, "two"), ("192.0.2.11", "one")):
        security_events.asked_from(address, secret)
        security_events.tell(security_events.Event.SLOWED)

    first, again, other_secret, other_address = (line["asked_from"] for line in told)
    assert first == again
    assert len({first, other_secret, other_address}) == 3
    assert all(len(one) == 16 and HERE not in one for one in (first, other_secret))
