"""`quizsvc people …`: keep the retention rules, and let a locked-out administrator in again."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from quizsvc.cli.table import table_lines
from quizsvc.config import settings_from
from quizsvc.services.house import House
from quizsvc.services.privacy import keep_retention, retention_finds
from quizsvc.services.reset_second_factor import reset_by_program


@click.group()
def people() -> None:
    """Keep the rules on how long things are kept, and help who is locked out."""


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


@people.command("reset-second-factor")
@click.argument("sign_in_name")
@click.confirmation_option(prompt="Take this person's second factor away and sign them out?")
def reset_second_factor(sign_in_name: str) -> None:
    """Let somebody who lost phone and recovery codes sign in by password alone.

    For the last administrator of a shop; for others their manager does so on the page of the
    person. It is noted in the audit log.
    """
    house = House.open(settings_from())
    try:
        reset_by_program(house, sign_in_name, now=datetime.now(UTC))
    finally:
        house.close()
    click.echo("Reset. They sign in by password, and set up another if their shop asks for one.")
