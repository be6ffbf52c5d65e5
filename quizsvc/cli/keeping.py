"""`quizsvc backup`, `restore`, `doctor`: keep an installation safe and well."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import click

from quizsvc.config import settings_from
from quizsvc.services.backup import check_backup, make_backup, restore_backup
from quizsvc.services.examine import examine

_SIGNS = {True: "well", False: "NOT WELL", None: "note"}


@click.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--check", is_flag=True, help="Only look whether FILE is a whole backup.")
def backup(file: Path | None, check: bool) -> None:  # noqa: FBT001 - click passes flags so
    """Write a backup of this installation to FILE, while it runs, and check it.

    The backup holds secrets: keep it as you would keep the keys.
    """
    now = datetime.now(UTC)
    if check:
        if file is None:
            raise click.UsageError("Name the backup to check.")
        report = check_backup(file)
        click.echo(f"{file}: whole, of {report.made_at:%d %B %Y %H:%M} UTC, {_size(report.size)}.")
        return
    settings = settings_from()
    file = file or Path(f"quizsvc-{now:%Y%m%d-%H%M%S}.zip")
    report = make_backup(settings, file, now=now, progress=_progress)
    click.echo(f"{file}: {len(report.files)} files, {_size(report.size)} before packing, checked.")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.confirmation_option(prompt="Put this backup in the place of the installation?")
def restore(file: Path) -> None:
    """Put the backup FILE in the place of this installation, after checking all of it."""
    settings = settings_from()
    aside = restore_backup(file, settings, now=datetime.now(UTC))
    click.echo(f"Restored. What was there before is in {aside}.")


@click.command()
def doctor() -> None:
    """Look this installation over; exit 1 if something is not well."""
    ill = False
    for one in examine(settings_from()):
        click.echo(f"{_SIGNS[one.well]:>8}  {one.what}: {one.says} {one.remedy}".rstrip())
        ill = ill or one.well is False
    raise SystemExit(int(ill))


def _progress(done: int, total: int) -> None:
    if total and sys.stderr.isatty():
        click.echo(f"\rCopying the database: {done * 100 // total} %", nl=done == total, err=True)


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 100_000 else f"{count} bytes"
