"""`quizsvc secret change`: another secret for the installation."""

from __future__ import annotations

import os
import secrets
from datetime import UTC, datetime

import click

from quizsvc.config import SECRET_BYTES, settings_from
from quizsvc.services.change_secret import change_secret
from quizsvc.services.house import House


@click.group()
def secret() -> None:
    """Change the secret of this installation."""


@secret.command()
def change() -> None:
    """Seal all keys under a new secret; everybody's open forms are out of date then.

    Stop the server first. Where QUIZSVC_SECRET_KEY states the secret, state the new one as
    QUIZSVC_NEW_SECRET_KEY, and put it in the place of the former when this is done.
    """
    stated, new = (os.environ.get(f"QUIZSVC_{name}SECRET_KEY", "") for name in ("", "NEW_"))
    if stated and not new:
        raise click.UsageError("State the new secret as QUIZSVC_NEW_SECRET_KEY.")
    settings = settings_from()
    house = House.open(settings)
    file = None if stated else settings.instance / "secret.key"
    new = new or secrets.token_hex(SECRET_BYTES)
    try:
        keys = change_secret(house, new, file=file, now=datetime.now(UTC))
    finally:
        house.close()
    click.echo(f"The secret is another; {keys} keys are sealed anew.")
    if stated:
        click.echo("Put it into QUIZSVC_SECRET_KEY before the next start.")
    click.echo("Backups made before hold the former secret and go with it.")
