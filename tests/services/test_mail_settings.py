"""Where messages go out: off unless a server and a sender are stated."""

from __future__ import annotations

import ssl

import pytest

from quizsvc.errors import InputError
from quizsvc.services import outbox


def test_nothing_stated_means_off():
    assert not outbox.mail_settings({}).on


def test_a_mail_server_without_a_sender_is_refused():
    with pytest.raises(InputError, match="QUIZSVC_SMTP_FROM"):
        outbox.mail_settings({"QUIZSVC_SMTP_HOST": "mail.example.org"})
    with pytest.raises(InputError, match="QUIZSVC_SMTP_PORT"):
        outbox.mail_settings(
            {
                "QUIZSVC_SMTP_HOST": "mail.example.org",
                "QUIZSVC_SMTP_FROM": "quiz@example.org",
                "QUIZSVC_SMTP_PORT": "no",
            }
        )


@pytest.mark.parametrize(
    ("text", "usable"),
    [
        ("ana@example.org", True),
        ("ana", False),
        ("ana@example", False),
        ("ana@example.org, eve@example.org", False),
        ("ana@example.org\nBcc: eve@example.org", False),
        ("@example.org", False),
    ],
)
def test_only_one_plain_address_is_an_address(text, usable):
    assert outbox.is_address(text) is usable


def test_a_mail_server_proves_who_it_is_before_anything_is_told_to_it(monkeypatch):
    told = []

    class Server:
        def __init__(self, *_args, **_more):
            pass

        def starttls(self, *, context):
            told.append(context)

        def login(self, *given):
            told.append(given)

    monkeypatch.setattr(outbox.smtplib, "SMTP", Server)
    outbox.connect(outbox.MailSettings("mail.example.org", user="quiz", password="invented"))

    context, login = told
    assert context.verify_mode is ssl.CERT_REQUIRED
    assert context.check_hostname
    assert context.minimum_version >= ssl.TLSVersion.TLSv1_2
    assert login == ("quiz", "invented")
