"""Group commit: who writes at the same moment shares one transaction and one wait for the disk.

The first to come leads: it runs what has gathered, commits once, and hands the lead to the
first of those who came meanwhile. Nobody is told of success before the commit is on disk.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any, TypeVar

from sqlalchemy import Connection

from quizsvc.errors import UnavailableError

MOST = 64  # pieces of work in one transaction, so that nobody waits long for others
WAIT_SECONDS = 20.0

T = TypeVar("T")
Work = Callable[[Connection], T]


class _Piece:
    """A piece of work on its way: what to do, and what became of it."""

    def __init__(self, work: Work[Any]) -> None:
        self.work = work
        self.woken = threading.Event()
        self.leads = False
        self.result: Any = None
        # A failure until the commit says otherwise, whatever stops the leader on its way.
        self.failure: Exception | None = UnavailableError(
            "the server was stopped; nothing was stored.", remedy="Send again in a moment."
        )


class Together:
    """Runs short pieces of work in shared transactions, in the order in which they came."""

    def __init__(self, write: Callable[[], AbstractContextManager[Connection]]) -> None:
        self._write = write
        self._mutex = threading.Lock()
        self._waiting: deque[_Piece] = deque()
        self._led = False

    def run(self, work: Work[T]) -> T:
        """Run the work in a transaction and return its result once that is on disk.

        The work may run twice, the first time undone: it must do nothing but read and write
        the database.

        Raises:
            UnavailableError: nothing was stored.
        """
        piece = _Piece(work)
        with self._mutex:
            self._waiting.append(piece)
            piece.leads = not self._led
            self._led = True
        if not piece.leads:
            self._wait(piece)
        if piece.leads:
            self._lead()
        if piece.failure is not None:
            raise piece.failure
        return piece.result  # type: ignore[no-any-return]

    def _wait(self, piece: _Piece) -> None:
        if piece.woken.wait(WAIT_SECONDS):
            return
        with self._mutex:
            if piece in self._waiting and not piece.leads:
                self._waiting.remove(piece)
                raise UnavailableError(
                    "the database is busy; nothing was stored.", remedy="Send again in a moment."
                )
        piece.woken.wait()  # it has been begun, so its end will come

    def _lead(self) -> None:
        with self._mutex:
            batch = [self._waiting.popleft() for _ in range(min(MOST, len(self._waiting)))]
        try:
            self._settle(batch)
        finally:
            self._hand_over()
            for piece in batch:
                piece.woken.set()

    def _settle(self, batch: list[_Piece]) -> None:
        """Run all in one transaction; where one fails, undo it and run each in its own."""
        try:
            self._run(batch)
        except UnavailableError as failure:
            for piece in batch:
                piece.failure = failure
        except Exception as failure:  # noqa: BLE001 - it is raised to whoever brought the work
            if len(batch) == 1:
                batch[0].failure = failure
                return
            for piece in batch:
                self._settle([piece])

    def _run(self, batch: list[_Piece]) -> None:
        with self._write() as connection:
            results = [piece.work(connection) for piece in batch]
        for piece, result in zip(batch, results, strict=True):
            piece.result, piece.failure = result, None

    def _hand_over(self) -> None:
        with self._mutex:
            if not self._waiting:
                self._led = False
                return
            heir = self._waiting[0]
            heir.leads = True
        heir.woken.set()
