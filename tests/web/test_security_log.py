"""Refusals are told in the log: what, on which route, whose number, and nothing that was typed."""

import pytest
import structlog
from furnished import PASSWORD
from structlog.testing import LogCapture

from quizsvc.services import security_events
from quizsvc.web.limits import limiter


@pytest.fixture
def told(monkeypatch):
    capture = LogCapture()
    logger = structlog.wrap_logger(None, processors=[capture])
    monkeypatch.setattr(security_events, "_log", logger)
    return capture.entries


def events(told):
    return [line["event"] for line in told]


def test_signing_in_and_out_is_told_by_number(client, told):
    client.sign_in()
    client.send("/sign-out", seen="/practise/")

    assert events(told) == ["signed in", "signed out"]
    first, last = told
    assert isinstance(first["person"], int)
    assert first["person"] == last["person"]


def test_a_deed_that_is_not_allowed_is_told_with_route_and_person(client, told):
    client.sign_in("lea")
    told.clear()

    assert client.get("/people/").status_code == 403

    (line,) = told
    assert line["event"] == "access refused"
    assert line["route"] == "admin.people"
    assert line["log_level"] == "warning"
    assert isinstance(line["person"], int)


def test_looking_for_what_belongs_to_others_is_told(client, told):
    client.sign_in("mia")
    told.clear()

    assert client.get("/people/99999").status_code == 404

    assert events(told) == ["nothing found for this person"]


def test_a_forged_form_and_a_wrong_host_are_told(client, told):
    client.post("/sign-in", data={"name": "lea", "password": PASSWORD})
    client.get("/sign-in", base_url="http://elsewhere.example")

    assert events(told) == ["form refused", "host refused"]
    assert all(line["asked_from"] for line in told)


def test_too_many_requests_are_told(client, told, monkeypatch):
    monkeypatch.setattr(limiter.limiter, "hit", lambda *_args, **_more: False)

    client.sign_in()

    assert "slowed down" in events(told)


def test_no_line_holds_a_name_an_address_or_what_was_typed(client, told):
    client.sign_in("lea", "guess")
    client.sign_in("lea")
    client.get("/people/")
    client.post("/sign-out")

    assert len(told) == 4
    words = " ".join(str(value) for line in told for value in line.values())
    for secret in ("lea", "Lea", "guess", PASSWORD, "127.0.0.1"):
        assert secret not in words
