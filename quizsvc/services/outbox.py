"""Tell people by mail: what is put into the outbox, and how it is sent where sending is on.

Sending is off until a mail server is stated. A message goes to the sign-in name where that is an
address; nothing personal stands in it beyond that there is news.
"""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from email.message import EmailMessage

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.rules.certificate_life import REMIND_DAYS
from quizsvc.services.house import House
from quizsvc.store import certificates, outbox

MOST_ATTEMPTS = 6
FIRST_WAIT = timedelta(minutes=5)  # doubled after each failure
MOST_AT_ONCE = 50
TIMEOUT_SECONDS = 20
MAIL_PORT, MOST_PORT = 587, 65535


@dataclass(frozen=True, slots=True)
class MailSettings:
    """A mail server to hand messages to. An empty host: sending is off."""

    host: str = ""
    port: int = MAIL_PORT
    sender: str = ""
    user: str = ""
    password: str = field(default="", repr=False)
    encrypted: bool = True  # STARTTLS before anything else is said

    @property
    def on(self) -> bool:
        return bool(self.host)


@dataclass(frozen=True, slots=True)
class Sent:
    sent: int
    failed: int
    without_address: int
    waiting: int


Connecting = Callable[[MailSettings], AbstractContextManager[smtplib.SMTP]]


def mail_settings(env: Mapping[str, str]) -> MailSettings:
    """Return what the environment states of a mail server.

    Raises:
        InputError: a host without a sender, or no usable port.
    """
    host = env.get("QUIZSVC_SMTP_HOST", "").strip()
    if not host:
        return MailSettings()
    sender = env.get("QUIZSVC_SMTP_FROM", "").strip()
    if not is_address(sender):
        raise InputError(
            "messages need an address they come from.",
            field="QUIZSVC_SMTP_FROM",
            value=sender,
            remedy="For example quiz@example.org.",
        )
    return MailSettings(
        host,
        _port(env.get("QUIZSVC_SMTP_PORT", str(MAIL_PORT))),
        sender,
        env.get("QUIZSVC_SMTP_USER", ""),
        env.get("QUIZSVC_SMTP_PASSWORD", ""),
        env.get("QUIZSVC_SMTP_PLAIN", "") != "1",
    )


def put_reminders(house: House, *, now: datetime) -> int:
    """Put in what reminds people of certificates that end soon, each once; return how many."""
    with house.write() as connection:
        return sum(_remind(connection, house, days, now) for days in REMIND_DAYS)


def tell_decided(
    connection: Connection, person_id: int, decision_id: int, *, now: datetime
) -> None:
    outbox.put_in(
        connection,
        about=f"decision {decision_id}",
        person_id=person_id,
        subject="There is a decision about your test",
        body="A decision about a test of yours has been made. Sign in to read it.",
        due_at=now,
    )


def tell_upheld(
    connection: Connection, person_id: int, decision_id: int, points: int, *, now: datetime
) -> None:
    outbox.put_in(
        connection,
        about=f"decision {decision_id} upheld at {points}",
        person_id=person_id,
        subject="The decision about your test stands",
        body="A test of yours was marked again; the decision about it stands. Sign in to read why.",
        due_at=now,
    )


def tell_appeal_answered(
    connection: Connection, person_id: int, decision_id: int, *, now: datetime
) -> None:
    outbox.put_in(
        connection,
        about=f"appeal {decision_id}",
        person_id=person_id,
        subject="Your appeal has been answered",
        body="Your appeal has been answered. Sign in to read it.",
        due_at=now,
    )


def send_due(
    house: House, mail: MailSettings, *, now: datetime, connecting: Connecting | None = None
) -> Sent:
    """Send what is due; what fails is tried again later, with longer and longer waits.

    Each message is noted as it went, so that a crash repeats one at most.
    """
    if not mail.on:
        return _counted(house)
    with house.read() as connection:
        due = outbox.due(connection, now=now, most=MOST_AT_ONCE)
    sent = failed = without = 0
    for message in due:
        if not is_address(message.sign_in_name or ""):
            _keep(house, message.id, given_up_at=now, last_error="no mail address is known")
            without += 1
            continue
        problem = _try(mail, connecting or connect, _letter(mail, house, message))
        if problem:
            _put_off(house, message, problem, now)
            failed += 1
        else:
            _keep(house, message.id, sent_at=now, attempts=message.attempts + 1, last_error=None)
            sent += 1
    return _counted(house, sent, failed, without)


def is_address(text: str) -> bool:
    """Return whether a text can be a mail address; headers can't be smuggled in by it."""
    name, at, host = text.rpartition("@")
    plain = text.isprintable() and not any(c in text for c in ' ,;<>"()')
    return bool(at and name and "." in host) and plain


def connect(mail: MailSettings) -> smtplib.SMTP:
    server = smtplib.SMTP(mail.host, mail.port, timeout=TIMEOUT_SECONDS)
    if mail.encrypted:
        server.starttls(context=ssl.create_default_context())  # checks name and issuer
    if mail.user:
        server.login(mail.user, mail.password)
    return server


def _remind(connection: Connection, house: House, days: int, now: datetime) -> int:
    ending = certificates.ending_between(connection, now, now + timedelta(days=days))
    count = 0
    for one in ending:
        if one.valid_until is None:
            continue
        count += outbox.put_in(
            connection,
            about=f"certificate {one.token} ends, {days} days",
            person_id=one.person_id,
            subject=f"Your certificate ends on {one.valid_until:%d %B %Y}",
            body=(
                f"A certificate of yours ends on {one.valid_until:%d %B %Y}. "
                f"Sign in at {house.settings.public_url} to see how it is renewed."
            ),
            due_at=now,
        )
    return count


def _letter(mail: MailSettings, house: House, message: outbox.Waiting) -> EmailMessage:
    letter = EmailMessage()
    letter["From"], letter["To"] = mail.sender, message.sign_in_name
    letter["Subject"] = message.subject
    letter["Auto-Submitted"] = "auto-generated"  # RFC 3834: no answering machine answers
    letter.set_content(f"{message.body}\n\n{house.settings.public_url}\n")
    return letter


def _try(mail: MailSettings, connecting: Connecting, letter: EmailMessage) -> str:
    """Return what went wrong, empty if nothing did."""
    try:
        with connecting(mail) as server:
            server.send_message(letter)
    except (OSError, smtplib.SMTPException) as error:
        return f"{type(error).__name__}: {error}"[:300]
    return ""


def _put_off(house: House, message: outbox.Waiting, problem: str, now: datetime) -> None:
    attempts = message.attempts + 1
    given_up = now if attempts >= MOST_ATTEMPTS else None
    later = now + FIRST_WAIT * 2**message.attempts
    _keep(
        house,
        message.id,
        attempts=attempts,
        due_at=later,
        last_error=problem,
        given_up_at=given_up,
    )


def _keep(house: House, message_id: int, **columns: object) -> None:
    with house.write() as connection:
        outbox.change(connection, message_id, **columns)


def _counted(house: House, sent: int = 0, failed: int = 0, without: int = 0) -> Sent:
    with house.read() as connection:
        return Sent(sent, failed, without, outbox.waiting(connection))


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= MOST_PORT:
        raise InputError(
            "no port of a mail server.",
            field="QUIZSVC_SMTP_PORT",
            value=text,
            remedy=f"Give a number from 1 to {MOST_PORT}.",
        )
    return int(text)
