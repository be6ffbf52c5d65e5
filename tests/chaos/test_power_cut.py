"""The power goes: what the disk holds at that moment is all there is, and it is enough.

A file system in a file is mounted; copying the file takes what was really written to the disk
and leaves behind what the system still had in memory. By name only (`-m chaos -s`): it mounts.
"""

from __future__ import annotations

import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, contextmanager
from copy import copy
from pathlib import Path

import pytest
from accounts_kept import ITEMS, all_that_differs
from examined import open_class, sitters_of
from sqlalchemy import create_engine
from under_load import answering, settle, told, wait_for_more

CUTS = 20
SIZE = "96M"

pytestmark = pytest.mark.chaos


class LoopDisk:
    """A small disk in a file."""

    def __init__(self, folder: Path) -> None:
        self.image, self.place, self._folder = folder / "disk.img", folder / "disk", folder
        self.place.mkdir()
        _run("truncate", "-s", SIZE, self.image)
        _run("mkfs.ext4", "-q", "-F", self.image)
        _run("mount", "-o", "loop", self.image, self.place)

    def put_away(self) -> None:
        _run("umount", "--lazy", self.place)

    @contextmanager
    def after_a_power_cut(self, number: int) -> Iterator[Path]:
        """Give the disk as it would be found when the power comes back."""
        found, place = self._folder / f"found-{number}.img", self._folder / f"found-{number}"
        place.mkdir()
        _run("cp", "--sparse=always", self.image, found)
        _run("mount", "-o", "loop", found, place)
        try:
            yield place
        finally:
            _run("umount", place)
            found.unlink()


def _run(*command: object) -> None:
    subprocess.run([str(part) for part in command], check=True, capture_output=True)  # noqa: S603


@pytest.fixture
def disk(tmp_path) -> Iterator[LoopDisk]:
    made = LoopDisk(tmp_path)
    yield made
    made.put_away()


def test_a_power_cut_takes_nothing_that_was_acknowledged(disk, serve, say):
    made = open_class(disk.place, 12)
    server = serve(disk.place, workers=2)
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        for cut in range(CUTS):
            wait_for_more(sitters, 25)
            with server.held_still():
                acknowledged = {one: copy(one.acknowledged) for one in sitters}
                with disk.after_a_power_cut(cut) as found:
                    assert _stored_differs(found / "quizsvc.sqlite3", acknowledged) == []
        settle(sitters)
    server.stop()
    made.house.close()
    say(f"chaos: {CUTS} power cuts, {told(sitters)} answers acknowledged, 0 lost, integrity ok")


def _stored_differs(database: Path, acknowledged) -> list[str]:
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    engine = create_engine(f"sqlite:///{database}")
    with engine.connect() as connection:
        found = [
            fault
            for sitter, told_of in acknowledged.items()
            for fault in all_that_differs(
                sitter, told_of, connection.execute(ITEMS, {"token": sitter.sitting}).all()
            )
        ]
    engine.dispose()
    return found


def test_the_cut_really_takes_what_was_not_forced_to_the_disk(disk):
    """The same cut with a database that does not wait for the disk: rows are gone."""
    with closing(sqlite3.connect(disk.place / "lax.sqlite3", isolation_level=None)) as lax:
        lax.execute("PRAGMA journal_mode=WAL")
        lax.execute("PRAGMA synchronous=NORMAL")
        lax.execute("CREATE TABLE row (x INTEGER)")
        lax.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        for number in range(300):
            lax.execute("INSERT INTO row VALUES (?)", (number,))
        with (
            disk.after_a_power_cut(0) as found,
            closing(sqlite3.connect(found / "lax.sqlite3")) as after,
        ):
            kept = after.execute("SELECT count(*) FROM row").fetchone()[0]

    assert kept < 300
