"""`quizsvc database upgrade` in processes of its own that can be killed at any moment.

Run as a program this is a nursery: it has everything imported, and forks a child for each line
it reads, so that a child's whole life is the upgrade. A line says before which statement the
child ends itself with SIGKILL; 0 leaves that to whoever reads its number.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Event
from unittest.mock import patch

from sqlalchemy import Engine, event

KILLED = -signal.SIGKILL
STATEMENTS = "statements"  # a file in the instance: how many the last whole upgrade had


class Nursery:
    """Starts upgrades of one database, one after the other."""

    def __init__(self, address: str, instance: Path) -> None:
        self._instance = instance
        self._process = subprocess.Popen(  # noqa: S603 - our own interpreter and file
            [sys.executable, __file__],
            env=os.environ | {"DATABASE_URL": address, "QUIZSVC_INSTANCE": str(instance)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,  # warnings about this machine's SQLite
            text=True,
        )
        assert self._process.stdout.readline() == "ready\n"

    def upgrade(self, *, kill_before: int = 0, kill_after: float | None = None) -> int:
        """Run one and return how it ended: 0, or `KILLED`.

        It is killed before that statement (1 is the first; the commit counts as one), or that
        many seconds after its start, or not at all.
        """
        child = int(self._asked(str(kill_before)))
        if kill_after is not None:
            Event().wait(kill_after)
            os.kill(child, signal.SIGKILL)  # the nursery has not buried it yet: it waits for us
        return int(self._asked(""))

    @property
    def statements(self) -> int:
        """How many statements the last whole upgrade had, its commits included."""
        return int((self._instance / STATEMENTS).read_text())

    def close(self) -> None:
        self._process.communicate()

    def _asked(self, line: str) -> str:
        self._process.stdin.write(f"{line}\n")
        self._process.stdin.flush()
        return self._process.stdout.readline()


def _main() -> None:
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", buffering=1)
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    _have_everything_at_hand()
    answers.write("ready\n")
    for line in iter(sys.stdin.readline, ""):
        child = os.fork()
        if child == 0:
            _upgrade(int(line))
        answers.write(f"{child}\n")
        sys.stdin.readline()
        _, status = os.waitpid(child, 0)
        answers.write(f"{os.waitstatus_to_exitcode(status)}\n")


def _have_everything_at_hand() -> None:
    """Upgrade a database of no interest once, so that a child's time is all upgrade."""
    import_module("psycopg")
    with TemporaryDirectory() as folder:
        elsewhere = {"DATABASE_URL": f"sqlite:///{folder}/x.sqlite3", "QUIZSVC_INSTANCE": folder}
        with patch.dict(os.environ, elsewhere):
            _run_the_command()


def _run_the_command() -> None:
    command = import_module("quizsvc.cli.main").quizsvc
    command(["database", "upgrade"], standalone_mode=False)


def _upgrade(kill_before: int) -> None:
    done = [0]

    def one_more(*_told: object) -> None:
        done[0] += 1
        if done[0] == kill_before:
            os.kill(os.getpid(), signal.SIGKILL)

    for moment in ("before_cursor_execute", "commit"):
        event.listen(Engine, moment, one_more)
    _run_the_command()
    (Path(os.environ["QUIZSVC_INSTANCE"]) / STATEMENTS).write_text(str(done[0]))
    os._exit(0)


if __name__ == "__main__":
    _main()
