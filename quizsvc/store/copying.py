"""Copy a database while it is in use, and look whether a copy is whole."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from sqlalchemy import make_url

from quizsvc.errors import UnavailableError

PAGES = 2000  # copied between two looks at the progress
Progress = Callable[[int, int], None]  # pages done, pages in all


def is_sqlite(url: str) -> bool:
    return make_url(url).get_backend_name() == "sqlite"


def copy_sqlite(url: str, target: Path, progress: Progress | None = None) -> None:
    """Write one consistent state of the database to ``target``; writers go on meanwhile."""
    source_path = make_url(url).database or ""

    def tell(_status: int, remaining: int, total: int) -> None:
        if progress:
            progress(total - remaining, total)

    with (
        closing(sqlite3.connect(f"file:{source_path}?mode=ro", uri=True)) as source,
        closing(sqlite3.connect(target)) as copy,
    ):
        source.backup(copy, pages=PAGES, progress=tell)
        copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it


def faults_of_sqlite(path: Path) -> list[str]:
    """Return what SQLite's own check finds wrong with a database file; empty if it is whole."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
            integrity = [row[0] for row in connection.execute("PRAGMA integrity_check")]
            orphans = connection.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.DatabaseError as error:
        return [str(error)]
    faults = [] if integrity == ["ok"] else integrity
    return faults + [f"a row of {row[0]} points to nothing in {row[2]}" for row in orphans[:20]]


def copy_server(url: str, target: Path) -> None:
    """Write a dump of a PostgreSQL database with its own `pg_dump`.

    Raises:
        UnavailableError: the program is missing or fails.
    """
    _run_tool("pg_dump", url, ["--format=custom", "--no-owner", f"--file={target}"])


def restore_server(url: str, dump: Path) -> None:
    """Replace what is in the PostgreSQL database by the dump, all of it or nothing."""
    flags = ["--clean", "--if-exists", "--no-owner", "--single-transaction", "--exit-on-error"]
    _run_tool("pg_restore", url, [*flags, str(dump)])


def _run_tool(tool: str, url: str, arguments: list[str]) -> None:
    program = shutil.which(tool)
    if program is None:
        raise UnavailableError(
            f"the program {tool} is not here.",
            remedy="Install the client programs of PostgreSQL.",
        )
    place = make_url(url)
    # The password goes by the environment: arguments can be read by everybody on the machine.
    environment = os.environ | {"PGPASSWORD": place.password or ""}
    plain = place.set(drivername="postgresql", password=None).render_as_string()
    call = [program, f"--dbname={plain}", *arguments]
    done = subprocess.run(call, env=environment, capture_output=True, text=True, check=False)  # noqa: S603 - a fixed program, no shell
    if done.returncode:
        said = done.stderr.strip().splitlines()[-1:] or ["no reason given"]
        raise UnavailableError(f"{tool} failed: {said[0]}", remedy="Nothing was replaced.")
