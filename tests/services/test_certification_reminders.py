"""Reminders of certificates that end: sent when a server is stated, and once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from certifying import certify, publish_scheme
from workshop import NOON

from quizsvc.services import outbox
from quizsvc.services.certifying import certificate_pages
from quizsvc.services.outbox import MailSettings

LATER = NOON + timedelta(hours=2)
pytestmark = pytest.mark.parametrize("workshop", ["sqlite"], indirect=True)


class Server:
    """A mail server that fails so many times, then takes letters."""

    def __init__(self, failures=0):
        self.failures, self.letters = failures, []

    def __call__(self, _mail):
        return self

    def __enter__(self):
        return self

    def __exit__(self, *_):
        return None

    def send_message(self, letter):
        if self.failures:
            self.failures -= 1
            raise OSError("connection refused")
        self.letters.append(letter)


MAIL = MailSettings("mail.example.org", sender="quiz@example.org")


@pytest.fixture
def reminded(crew):
    """Ana's sign-in name is an address; her certificate ends in 30 days."""
    certify(crew, publish_scheme(crew), crew.ana)
    (line,) = certificate_pages.own(crew.house, crew.ana, now=LATER)
    with crew.house.write() as connection:
        connection.exec_driver_sql(
            "UPDATE person SET sign_in_name = 'ana@example.org' WHERE name = 'Ana'"
        )
    now = line.valid_until - timedelta(days=30)
    assert outbox.put_reminders(crew.house, now=now) == 1
    assert outbox.put_reminders(crew.house, now=now) == 0
    return now


def test_sending_is_off_until_a_server_is_stated(crew, reminded):
    done = outbox.send_due(crew.house, outbox.mail_settings({}), now=reminded)

    assert (done.sent, done.waiting) == (0, 2)


def test_what_fails_is_tried_again_later_and_nothing_is_sent_twice(crew, reminded):
    server = Server(failures=1)

    first = outbox.send_due(crew.house, MAIL, now=reminded, connecting=server)
    assert (first.sent, first.failed) == (1, 1)
    too_soon = outbox.send_due(crew.house, MAIL, now=reminded, connecting=server)
    assert (too_soon.sent, too_soon.failed) == (0, 0)
    later = reminded + timedelta(minutes=6)
    last = outbox.send_due(crew.house, MAIL, now=later, connecting=server)

    assert (last.sent, last.waiting) == (1, 0)
    assert {letter["To"] for letter in server.letters} == {"ana@example.org"}
