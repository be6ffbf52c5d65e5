"""A full disk and a locked database: said clearly, nothing acknowledged that is not stored."""

from __future__ import annotations

import os
import resource
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest
from accounts_kept import integrity, lost
from examined import open_class, sitters_of
from real_server import RealServer
from under_load import (
    all_is_well,
    answering,
    page_said,
    refusals,
    settle,
    told,
    until,
    wait_for_more,
)

SMALL = "24m"


class SmallDisk:
    """A file system of a few megabytes, or where none may be mounted, a limit on file sizes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir()
        self.mounted = os.geteuid() == 0 and _quietly(
            "mount", "-t", "tmpfs", "-o", f"size={SMALL}", "quizsvc-test", str(folder)
        )

    def fill(self, server: RealServer) -> None:
        if not self.mounted:
            for pid in server.workers():
                resource.prlimit(pid, resource.RLIMIT_FSIZE, (1, resource.RLIM_INFINITY))
            return
        with (self.folder / "filler").open("wb", buffering=0) as filler, suppress(OSError):
            while True:
                filler.write(b"\0" * 4096)

    def free(self, server: RealServer) -> None:
        for pid in [] if self.mounted else server.workers():
            whole = (resource.RLIM_INFINITY, resource.RLIM_INFINITY)
            resource.prlimit(pid, resource.RLIMIT_FSIZE, whole)
        (self.folder / "filler").unlink(missing_ok=True)

    def put_away(self) -> None:
        if self.mounted:
            _quietly("umount", "--lazy", str(self.folder))


def _quietly(*command: str) -> bool:
    done = subprocess.run(command, capture_output=True, check=False)  # noqa: S603 - our own
    return done.returncode == 0


@pytest.fixture
def small_disk(tmp_path) -> Iterator[SmallDisk]:
    disk = SmallDisk(tmp_path / "small")
    yield disk
    disk.put_away()


def test_a_full_disk_is_said_and_takes_nothing_back(small_disk, serve, say):
    made = open_class(small_disk.folder, 5)
    server = serve(small_disk.folder, workers=1)
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 15)
        small_disk.fill(server)
        until(sitters, lambda: refusals(sitters) >= 10, "the full disk was never noticed")
        stored = told(sitters)
        assert lost(made, sitters) == []
        assert page_said(server, sitters[0])[0] == 200  # reading goes on
        refused = refusals(sitters)
        small_disk.free(server)
        wait_for_more(sitters, 15)  # and writing comes back by itself
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    made.house.close()
    how = "a file system of " + SMALL if small_disk.mounted else "a limit on file sizes"
    say(
        f"chaos: disk full ({how}): {refused} answers refused with 503, {stored} kept before, "
        f"{told(sitters)} in the end, 0 lost, 0 twice"
    )


def test_a_refusal_for_want_of_space_says_what_to_do(small_disk, serve):
    made = open_class(small_disk.folder, 1)
    server = serve(small_disk.folder, workers=1)
    server.start()
    (sitter,) = sitters_of(made, [server.port])
    sitter._read_a_page()
    small_disk.fill(server)
    said = {}
    for _ in range(20):
        sent = sitter._next()
        status, body = sitter._save(sent)
        said[status] = body

    assert 503 in said
    assert b"nothing was stored" in said[503]
    assert b"Free some space" in said[503]
    sitter._hang_up()
    small_disk.free(server)
    server.stop()
    made.house.close()


def test_a_database_somebody_else_holds_is_said_and_let_go_again(tmp_path, serve, say):
    made = open_class(tmp_path, 4)
    server = serve(tmp_path, workers=1)
    server.start()
    sitters = sitters_of(made, [server.port])
    with answering(sitters):
        wait_for_more(sitters, 10)
        with closing(
            sqlite3.connect(tmp_path / "quizsvc.sqlite3", isolation_level=None, timeout=30)
        ) as holder:
            holder.execute("BEGIN IMMEDIATE")
            until(
                sitters, lambda: refusals(sitters) >= 2, "nobody was told that the database is held"
            )
            assert lost(made, sitters) == []
            assert page_said(server, sitters[0])[0] == 200
            holder.execute("ROLLBACK")
        wait_for_more(sitters, 10)
        settle(sitters)
    all_is_well(made, sitters)
    server.stop()
    assert integrity(made) == "ok"
    made.house.close()
    say(f"chaos: database held by another: {refusals(sitters)} refused, then {told(sitters)} kept")
