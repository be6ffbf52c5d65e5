"""`quizsvc people …`: keep the rules on how long things about people are kept."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from quizsvc.cli.table import table_lines
from quizsvc.config import settings_from
from quizsvc.services.house import House
from quizsvc.services.privacy import keep_retention, retention_finds


@click.group()
def people() -> None:
    """Keep the rules on how long things about people are kept."""


@people.command()
@click.option("--dry-run", is_flag=True, help="Only say what the rules find; change nothing.")
def retention(dry_run: bool) -> None:  # noqa: FBT001 - click passes options so
    """Remove, empty or erase what the retention rules say is kept no longer."""
    house = House.open(settings_from())
    now = datetime.now(UTC)
    try:
        lines = retention_finds(house, now=now) if dry_run else keep_retention(house, now=now)
    finally:
        house.close()
    head = ("what", "after days", "then", "found" if dry_run else "done")
    rows = [(x.rule.kind.value, str(x.rule.days), x.rule.then, str(x.found)) for x in lines]
    click.echo("\n".join(table_lines(head, rows)))
    if dry_run:
        click.echo("Nothing was changed.")
