"""`quizsvc credential verify`: look at a credential file without a connection."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from quizsvc.errors import InputError
from quizsvc.interchange.credentials.moments import read_moment
from quizsvc.interchange.credentials.verify import (
    LARGEST_FILE,
    Verdict,
    read_published_keys,
    verify_credential,
)
from quizsvc.services.certifying.shown_credentials import holder_check, holder_of

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_SIGNS = {True: "holds", False: "FAILS", None: "open"}


@click.group()
def credential() -> None:
    """Verify credentials: files that certificates come with."""


@credential.command()
@click.argument("file", type=_FILE)
@click.option("--keys", required=True, type=_FILE, help="The issuer's published keys, saved.")
@click.option("--status", type=_FILE, help="The issuer's status list, saved.")
@click.option("--holder", default="", help="Who shows it; refused if it is somebody else's.")
@click.option("--at", default="", help="A moment, such as 2026-03-01T12:00:00Z; else now.")
def verify(file: Path, keys: Path, status: Path | None, holder: str, at: str) -> None:
    """Verify FILE, a credential as JSON or as a signed token, against published keys.

    Exits with 0 only where everything was looked at and holds. Without --status revocation stays
    open, and the exit is 1.
    """
    moment = read_moment(at, "--at") if at else datetime.now(UTC)
    verdict = verify_credential(
        _text(file),
        read_published_keys(_text(keys)),
        now=moment,
        status_list=_text(status) if status else None,
    )
    if holder:
        verdict = Verdict((*verdict.checks, holder_check(verdict, holder)), verdict.credential)
    for check in verdict.checks:
        click.echo(f"{_SIGNS[check.holds]:6} {check.what}: {check.says}")
    if not verdict.valid:
        click.echo("not valid, as far as it was looked at" if _only_open(verdict) else "not valid")
        raise SystemExit(1)
    click.echo(f"valid: {verdict.credential.get('name', '')}, issued to {holder_of(verdict)}")


def _only_open(verdict: Verdict) -> bool:
    return all(check.holds is not False for check in verdict.checks)


def _text(path: Path) -> str:
    """Return a file's text.

    Raises:
        InputError: it is too large, or no text.
    """
    if path.stat().st_size > LARGEST_FILE:
        raise InputError(
            "the file is too large.",
            field=str(path),
            value=path.stat().st_size,
            remedy=f"At most {LARGEST_FILE} bytes.",
        )
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise InputError(
            "this is no text file.",
            field=str(path),
            value="other bytes",
            remedy="Choose the file as it was downloaded.",
        ) from None
