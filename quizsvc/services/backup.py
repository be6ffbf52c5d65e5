"""Backups: one file with the database, the keys and the secret; verified before it replaces any.

A backup is taken while the server runs. It holds what belongs to one installation: a consistent
copy of the database (uploaded pictures are in it), everything else in the instance folder, and
a list of the hashes of both. It also holds secrets: keep it as you would keep the keys.
"""

from __future__ import annotations

import json
import os
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import make_url

from quizsvc.config import Settings
from quizsvc.errors import ConflictError, InputError
from quizsvc.interchange.broken_archives import BROKEN
from quizsvc.services.occupancy import FILE as SERVING
from quizsvc.services.occupancy import to_itself
from quizsvc.store import copying

FORMAT = 1
CONTENTS = "contents.json"
DATABASE, DUMP = "database.sqlite3", "database.dump"
MOST_FILES = 10_000
MOST_BYTES = 200 * 1024**3  # unpacked
_CHUNK = 1024 * 1024
UNREADABLE: tuple[type[Exception], ...] = (*BROKEN, KeyError, TypeError, AttributeError)


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup holds: when it was made, its files with their sizes, the kind of database."""

    made_at: datetime
    database: str  # "sqlite" or "postgresql"
    files: dict[str, int]

    @property
    def size(self) -> int:
        return sum(self.files.values())


def make_backup(
    settings: Settings, target: Path, *, now: datetime, progress: copying.Progress | None = None
) -> BackupReport:
    """Write a backup to ``target`` and check it; an existing file is never written over.

    Raises:
        ConflictError: the file exists.
        UnavailableError: the database could not be copied.
    """
    if target.exists():
        raise ConflictError(
            "there is a file of this name already.",
            field="backup",
            value=str(target),
            remedy="Choose another name.",
        )
    draft = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with TemporaryDirectory(dir=target.resolve().parent) as folder:
            parts = _gather(settings, Path(folder), progress)
            _pack(draft, parts, settings, now)
        report = check_backup(draft)
        os.link(draft, target)  # whole or not at all
    finally:
        draft.unlink(missing_ok=True)
    return report


def check_backup(path: Path) -> BackupReport:
    """Return what the backup holds, after looking at every byte of it.

    Raises:
        InputError: it is no backup, or something in it is missing, changed or broken.
    """
    with TemporaryDirectory(dir=path.resolve().parent) as folder:
        return _unpack(path, Path(folder))


def restore_backup(path: Path, settings: Settings, *, now: datetime) -> Path:
    """Put the backup in the place of this installation; return where the old one was set aside.

    Everything is unpacked and verified before anything is replaced; no server may be running.

    Raises:
        InputError: the backup is not whole, or is of another kind of database.
        ConflictError: a server is running on this installation.
    """
    settings.instance.mkdir(parents=True, exist_ok=True)
    aside = settings.instance / f"before-restore-{now:%Y%m%d-%H%M%S-%f}"
    with to_itself(settings.instance), TemporaryDirectory(dir=settings.instance) as folder:
        report = _unpack(path, Path(folder))
        _refuse_other_kind(report, settings)
        _set_aside(settings, aside, Path(folder))
        _put_in_place(settings, Path(folder), report)
    return aside


def _gather(settings: Settings, folder: Path, progress: copying.Progress | None) -> dict[str, Path]:
    """Copy the database into ``folder``; return every file by its name in the backup."""
    if copying.is_sqlite(settings.database_url):
        parts = {DATABASE: folder / DATABASE}
        copying.copy_sqlite(settings.database_url, parts[DATABASE], progress)
    else:
        parts = {DUMP: folder / DUMP}
        copying.copy_server(settings.database_url, parts[DUMP])
    return parts | {f"instance/{name}": path for name, path in _kept(settings)}


def _kept(settings: Settings) -> Iterator[tuple[str, Path]]:
    """Yield what is kept beside the database: keys, the secret, files of other modules."""
    name = Path(make_url(settings.database_url).database or "").name
    for path in sorted(settings.instance.rglob("*")):
        inside = path.relative_to(settings.instance)
        passing = (
            inside.name == SERVING
            or inside.parts[0].startswith(("before-restore-", "tmp", "metrics"))
            or (name and inside.name.startswith(name))
            or inside.suffix in {".part", ".zip"}
        )
        if path.is_file() and not path.is_symlink() and not passing:
            yield inside.as_posix(), path


def _pack(target: Path, parts: dict[str, Path], settings: Settings, now: datetime) -> None:
    contents = {
        "format": FORMAT,
        "made_at": now.astimezone(UTC).isoformat(),
        "database": "sqlite" if copying.is_sqlite(settings.database_url) else "postgresql",
        "files": {
            name: {"sha256": _hash(p), "size": p.stat().st_size} for name, p in parts.items()
        },
    }
    handle = os.open(target, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w+b") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=3) as archive:
            archive.writestr(CONTENTS, json.dumps(contents, indent=1))
            for name, path in parts.items():
                archive.write(path, name)
        file.flush()
        os.fsync(file.fileno())


def _unpack(path: Path, folder: Path) -> BackupReport:
    try:
        with zipfile.ZipFile(path) as archive:
            contents = _contents(archive)
            for name, stated in contents["files"].items():
                _extract(archive, name, stated, folder)
    except FileNotFoundError:
        raise InputError("there is no such file.", field="backup", value=str(path)) from None
    except InputError:
        raise
    except UNREADABLE as error:
        raise _not_whole(path, str(error)) from error
    if contents["database"] == "sqlite":
        faults = copying.faults_of_sqlite(folder / DATABASE)
        if faults:
            raise _not_whole(path, faults[0])
    return BackupReport(
        datetime.fromisoformat(contents["made_at"]),
        contents["database"],
        {name: stated["size"] for name, stated in contents["files"].items()},
    )


def _contents(archive: zipfile.ZipFile) -> dict[str, Any]:
    if archive.getinfo(CONTENTS).file_size > 10_000_000:
        raise ValueError("its list of contents is too long")
    contents: dict[str, Any] = json.loads(archive.read(CONTENTS))
    if contents["format"] != FORMAT:
        raise ValueError(f"it is of format {contents['format']}, this program reads {FORMAT}")
    if contents["database"] not in {"sqlite", "postgresql"}:
        raise ValueError("it does not say of which kind of database it was made")
    datetime.fromisoformat(contents["made_at"])
    if len(contents["files"]) > MOST_FILES:
        raise ValueError("it holds too many files")
    if sum(stated["size"] for stated in contents["files"].values()) > MOST_BYTES:
        raise ValueError("it is too large")
    return contents


def _extract(archive: zipfile.ZipFile, name: str, stated: dict[str, Any], folder: Path) -> None:
    place = PurePosixPath(name)
    if place.is_absolute() or ".." in place.parts or "\\" in name:
        raise ValueError(f"{name!r} would lie outside")
    target = folder / place
    target.parent.mkdir(parents=True, exist_ok=True)
    digest, size = sha256(), 0
    handle = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with archive.open(name) as packed, os.fdopen(handle, "wb") as file:
        while chunk := packed.read(_CHUNK):
            size += len(chunk)
            if size > stated["size"]:
                raise ValueError(f"{name} is longer than its list says")
            digest.update(chunk)
            file.write(chunk)
    if digest.hexdigest() != stated["sha256"]:
        raise ValueError(f"{name} was changed")


def _refuse_other_kind(report: BackupReport, settings: Settings) -> None:
    kind = "sqlite" if copying.is_sqlite(settings.database_url) else "postgresql"
    if report.database != kind:
        raise InputError(
            f"it was made of a {report.database} database and this installation uses {kind}.",
            field="DATABASE_URL",
            remedy="Set DATABASE_URL as it was when the backup was made.",
        )


def _set_aside(settings: Settings, aside: Path, unpacked: Path) -> None:
    aside.mkdir()
    keep = {aside, unpacked, settings.instance / SERVING, settings.instance / "README.md"}
    for path in list(settings.instance.iterdir()):
        if path not in keep and not path.name.startswith("before-restore-"):
            shutil.move(path, aside / path.name)


def _put_in_place(settings: Settings, unpacked: Path, report: BackupReport) -> None:
    if report.database == "sqlite":
        place = Path(make_url(settings.database_url).database or "")
        for beside in ("", "-wal", "-shm"):
            with suppress(FileNotFoundError):
                Path(f"{place}{beside}").unlink()
        shutil.move(unpacked / DATABASE, place)
    else:
        copying.restore_server(settings.database_url, unpacked / DUMP)
    kept = unpacked / "instance"
    for path in kept.rglob("*") if kept.exists() else ():
        target = settings.instance / path.relative_to(kept)
        if path.is_file() and target.name != "README.md":
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.move(path, target)


def _hash(path: Path) -> str:
    digest = sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _not_whole(path: Path, why: str) -> InputError:
    return InputError(
        f"the backup is not whole: {why}.",
        field="backup",
        value=str(path),
        remedy="Nothing was replaced; use another backup.",
    )
