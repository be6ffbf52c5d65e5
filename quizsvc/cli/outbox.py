"""`quizsvc outbox`: what waits to be sent, and sending it where a mail server is stated."""

from __future__ import annotations

import os
from datetime import UTC, datetime

import click

from quizsvc.config import settings_from
from quizsvc.services.house import House
from quizsvc.services.outbox import mail_settings, put_reminders, send_due


@click.group()
def outbox() -> None:
    """Messages to people: reminders of certificates that end, news of decisions."""


@outbox.command()
def send() -> None:
    """Put reminders in, then send what is due. Run it once an hour, say.

    Off until QUIZSVC_SMTP_HOST and QUIZSVC_SMTP_FROM are stated. What fails is tried again later.
    """
    mail = mail_settings(os.environ)
    house = House.open(settings_from())
    try:
        now = datetime.now(UTC)
        put_in = put_reminders(house, now=now)
        done = send_due(house, mail, now=now)
    finally:
        house.close()
    click.echo(f"reminders put in: {put_in}")
    if not mail.on:
        click.echo(f"sending is off (QUIZSVC_SMTP_HOST is not stated); waiting: {done.waiting}")
        return
    click.echo(
        f"sent: {done.sent}, to be tried again: {done.failed}, "
        f"without an address: {done.without_address}, waiting: {done.waiting}"
    )
