"""Turns: one writer at a time over all threads and processes, and nobody waits without end."""

from __future__ import annotations

import fcntl
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic

from quizsvc.errors import UnavailableError

TURN_SECONDS = 15.0  # a writer that waits longer is told to try again


class Turns:
    """Lets writers in one at a time, over all threads and processes on this machine.

    SQLite's own waiting is unfair: whoever happens to retry at the right moment wins. A lock
    in the process and a file lock between processes cut the worst waits.
    """

    def __init__(self, lock_file: Path, seconds: float = TURN_SECONDS) -> None:
        self._threads = threading.Lock()
        self._file = FileTurn(lock_file)
        self._seconds = seconds

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Wait for the turn and hold it while the block runs.

        Raises:
            UnavailableError: others took longer than this writer may wait, for threads and
                processes together; one of them may be stuck or stopped.
        """
        end = monotonic() + self._seconds
        if not self._threads.acquire(timeout=self._seconds):
            raise too_busy()
        try:
            if not self._file.take(max(0.0, end - monotonic())):
                raise too_busy()
            try:
                yield
            finally:
                self._file.give_back()
        finally:
            self._threads.release()

    def close(self) -> None:
        self._file.close()


class FileTurn:
    """A lock on a file, for one thread of this process at a time, whose waiting ends.

    ``flock`` waits without end or not at all, and asking again and again loses to whoever
    stands in the kernel's row. So a thread stands in that row; when it is given the lock after
    whoever sent it has left, the next to come takes it over, or it goes back at once.
    """

    def __init__(self, path: Path) -> None:
        self._file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        self._guard = threading.Lock()
        self._given: threading.Event | None = None  # of the thread in the row, if there is one
        self._wanted = False

    def take(self, seconds: float) -> bool:
        """Return whether the lock was given within so many seconds."""
        with self._guard:
            if self._given is None and self._free():
                return True
            self._wanted = True
            given = self._given or self._stand_in_the_row()
        given.wait(seconds)
        with self._guard:
            self._wanted = False
            if given.is_set():
                self._given = None
            return given.is_set()

    def give_back(self) -> None:
        fcntl.flock(self._file, fcntl.LOCK_UN)

    def close(self) -> None:
        os.close(self._file)

    def _free(self) -> bool:
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _stand_in_the_row(self) -> threading.Event:
        given = self._given = threading.Event()
        # A descriptor of its own to the same open file: the lock is shared, and closing ours
        # while the thread waits leaves it nothing of somebody else's to unlock.
        file = os.dup(self._file)
        threading.Thread(target=self._wait, args=(file, given), daemon=True).start()
        return given

    def _wait(self, file: int, given: threading.Event) -> None:
        fcntl.flock(file, fcntl.LOCK_EX)
        with self._guard:
            if self._wanted:
                given.set()
            else:
                fcntl.flock(file, fcntl.LOCK_UN)
                self._given = None
        os.close(file)


def too_busy() -> UnavailableError:
    return UnavailableError(
        "the database is busy; nothing was stored.", remedy="Send again in a moment."
    )
