"""`quizsvc database …`: keep the tables up to date."""

from __future__ import annotations

import click

from quizsvc.config import settings_from
from quizsvc.services.house import House


@click.group()
def database() -> None:
    """Keep the database's tables up to date."""


@database.command()
def upgrade() -> None:
    """Create missing tables or bring old ones up to date; all of it or nothing."""
    House.open(settings_from(), upgrade=True).close()
    click.echo("The database is up to date.")
