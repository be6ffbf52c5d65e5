"""`quizsvc bank …`: check hand-written question banks."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from quizsvc.items.bank_check.checking import check_path


@click.group()
def bank() -> None:
    """Check and load hand-written question banks."""


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
    found = f"{len(report.faults)} findings" if report.faults else "no findings"
    click.echo(f"{report.banks} bank files, {report.items} items, {found}.")
    sys.exit(1 if report.faults else 0)
