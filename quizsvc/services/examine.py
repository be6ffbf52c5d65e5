"""Look an installation over and say what is well, what is not, and what to do."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import make_url

from quizsvc.config import Settings
from quizsvc.errors import QuizsvcError
from quizsvc.services.auditing import broken_at
from quizsvc.services.house import House
from quizsvc.store import copying
from quizsvc.store.engines import sqlite_warning
from quizsvc.store.following import seconds_behind

LITTLE_SPACE = 500 * 1024**2
_NOT_LOCAL = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "9p", "ceph", "glusterfs"}


@dataclass(frozen=True, slots=True)
class Examined:
    """One thing looked at. ``well`` is None for a warning that stops nothing."""

    what: str
    well: bool | None
    says: str
    remedy: str = ""


def examine(settings: Settings) -> Iterator[Examined]:
    """Yield one finding after another; nothing is changed."""
    yield _space(settings)
    yield _secret(settings)
    if copying.is_sqlite(settings.database_url):
        yield from _sqlite(settings)
    yield from _house(settings)
    if settings.reports_database_url:
        yield _copy(settings)


def _space(settings: Settings) -> Examined:
    free = shutil.disk_usage(settings.instance).free
    if free < LITTLE_SPACE:
        return Examined(
            "disk", well=False, says=f"only {free / 1e6:.0f} MB are free.", remedy="Free some."
        )
    return Examined("disk", well=True, says=f"{free / 1e9:.1f} GB are free.")


def _secret(settings: Settings) -> Examined:
    path = settings.instance / "secret.key"
    if not path.exists():
        return Examined("secret key", well=True, says="given by the environment.")
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        return Examined(
            "secret key", well=False, says="others can read it.", remedy=f"chmod 600 {path}"
        )
    return Examined("secret key", well=True, says="kept, and only its owner can read it.")


def _sqlite(settings: Settings) -> Iterator[Examined]:
    warning = sqlite_warning()
    version = f"SQLite {sqlite3.sqlite_version}."
    yield Examined("SQLite version", None if warning else True, warning or version)
    path = Path(make_url(settings.database_url).database or "")
    system = _file_system(path)
    if system in _NOT_LOCAL:
        yield Examined(
            "file system",
            well=False,
            says=f"the database lies on {system}, where locks do not hold.",
            remedy="Move it to a local disk, or use PostgreSQL.",
        )
    if path.exists():
        faults = copying.faults_of_sqlite(path)
        remedy = "Stop the server and restore the last backup." if faults else ""
        yield Examined(
            "database file", not faults, faults[0] if faults else "whole by its own check.", remedy
        )


def _house(settings: Settings) -> Iterator[Examined]:
    try:
        house = House.open(settings)
    except QuizsvcError as error:
        yield Examined("tables", well=False, says=error.problem, remedy=error.remedy or "")
        return
    try:
        yield Examined("tables", well=True, says="up to date.")
        yield _audit(house)
    finally:
        house.close()


def _copy(settings: Settings) -> Examined:
    try:
        seconds = seconds_behind(settings.reports_database_url)
    except QuizsvcError as error:
        return Examined(
            "copy for reports",
            well=False,
            says=f"{error.problem} Reports read the database itself meanwhile.",
            remedy="Start it, or unset QUIZSVC_REPORTS_DATABASE_URL.",
        )
    if seconds is None:
        return Examined(
            "copy for reports",
            well=None,
            says="it is no copy but a database of its own, or the database itself.",
            remedy="Let it follow the database, or unset QUIZSVC_REPORTS_DATABASE_URL.",
        )
    return Examined("copy for reports", well=True, says=f"{seconds:.0f} s behind at most.")


def _audit(house: House) -> Examined:
    try:
        broken = broken_at(house)
    except QuizsvcError as error:
        return Examined("audit log", well=False, says=error.problem, remedy=error.remedy or "")
    if broken is None:
        return Examined("audit log", well=True, says="unbroken.")
    return Examined(
        "audit log",
        well=False,
        says=f"breaks at entry {broken.number}: {broken.problem}.",
        remedy="Compare with a backup; somebody changed history.",
    )


def _file_system(path: Path) -> str:
    """Return the kind of file system under ``path``, "" where the machine does not tell."""
    try:
        mounts = Path("/proc/mounts").read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    where = os.path.realpath(path)
    fitting = [
        (len(parts[1]), parts[2])
        for parts in (line.split() for line in mounts)
        if len(parts) > 2 and (where + "/").startswith(parts[1].rstrip("/") + "/")
    ]
    return max(fitting)[1] if fitting else ""
