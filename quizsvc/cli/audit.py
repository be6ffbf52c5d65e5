"""`quizsvc audit …`: verify the audit log."""

from __future__ import annotations

import click

from quizsvc.config import settings_from
from quizsvc.services.auditing import anchor, broken_at
from quizsvc.services.house import House


@click.group()
def audit() -> None:
    """Verify the audit log."""


@audit.command()
@click.option(
    "--anchor",
    "noted",
    metavar="NUMBER:HASH",
    help="An end of the log noted earlier and kept elsewhere; shows a cut-off tail.",
)
def verify(noted: str | None) -> None:
    """Follow the chain from its start; exit 1 where it breaks."""
    house = House.open(settings_from())
    try:
        broken = broken_at(house, noted)
        end = anchor(house)
    finally:
        house.close()
    if broken:
        click.echo(f"The log breaks at entry {broken.number}: {broken.problem}.")
        raise SystemExit(1)
    click.echo(f"The log is unbroken. Note its end elsewhere: {end}")
