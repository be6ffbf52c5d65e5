"""`quizsvc bank …`: check and load hand-written question banks, draw their pictures."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import click

from quizsvc.cli.interchange import export_bank, import_bank
from quizsvc.config import settings_from
from quizsvc.figures.stills.album import STILLS, write_stills
from quizsvc.items.bank_check.checking import check_path
from quizsvc.items.banks.loading import MEDIA
from quizsvc.services.banks import bank_files, keep_bank
from quizsvc.services.house import House


@click.group()
def bank() -> None:
    """Check, load, export and import hand-written question banks."""


bank.add_command(export_bank)
bank.add_command(import_bank)


@bank.command()
@click.argument("path", type=click.Path(path_type=Path))
@click.option(
    "--media",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of the pictures; else the folder media beside the file or beside its folder.",
)
def check(path: Path, media: Path | None) -> None:
    """Report every fault of a bank file, or of the banks in a folder.

    Each finding names file, line, item, what is wrong and what to do. Exit code 1 if there are
    any.
    """
    report = check_path(path, media)
    for fault in report.faults:
        click.echo(fault)
    found = _counted(len(report.faults), "finding") if report.faults else "no findings"
    files, items = _counted(report.banks, "bank file"), _counted(report.items, "item")
    click.echo(f"{files}, {items}, {found}.")
    sys.exit(1 if report.faults else 0)


@bank.command()
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=MEDIA,
    show_default="media/ of the program",
    help="Folder to draw into.",
)
def pictures(folder: Path) -> None:
    """Draw the pictures of the shipped banks again, and name those that changed."""
    for path in write_stills(folder):
        click.echo(path)
    click.echo(f"{len(STILLS)} pictures in {folder}.")


@bank.command()
@click.argument("path", type=click.Path(path_type=Path))
def load(path: Path) -> None:
    """Load a bank file, or the banks of a folder, into the database; each whole or not at all.

    An item that is there word for word is left alone; a changed one needs a new version.
    """
    settings = settings_from()
    house = House.open(settings)
    try:
        for file in bank_files(path):
            with house.write() as connection:
                loaded = keep_bank(
                    connection,
                    None,
                    file,
                    media=settings.media,
                    shop_id=None,
                    now=datetime.now(UTC),
                )
            click.echo(
                f"{loaded.title}: {loaded.new} new, {loaded.changed} changed, "
                f"{loaded.unchanged} as before."
            )
    finally:
        house.close()


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
