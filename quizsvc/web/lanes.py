"""How many requests are worked on at once, and who goes first.

Python works on one thing at a time, so many requests at once are only in each other's way; few are
let in, in the order in which they came. A check of a password takes its time on purpose, and a
class that starts a test signs in at the same moment: whoever waits for such a check steps aside
meanwhile, and forms with a password go in after pages.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from flask import Flask

from quizsvc.services.house import House

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

# Where a form with a password goes.
PASSWORDS_GO_TO = ("/sign-in", "/account/", "/people/join/")
PAGES_FIRST = 4  # pages that may go before somebody who signs in and waits


class Gate:
    """Lets so many in at a time. Whoever leaves hands the place to one who waits.

    With a plain semaphore those who had just come took it, and the slowest answers were several
    times slower.
    """

    def __init__(self, places: int) -> None:
        self.places = places
        self._free = places
        self._mutex = threading.Lock()
        self._pages, self._patient = deque[threading.Lock](), deque[threading.Lock]()
        self._pages_in_turn = 0
        self._here = threading.local()

    @contextmanager
    def place(self, *, patient: bool = False) -> Iterator[None]:
        """Work in the block once there is a place; ``patient`` ones after pages."""
        self._enter(patient=patient)
        self._here.inside = True
        try:
            yield
        finally:
            self._here.inside = False
            self._leave()

    @contextmanager
    def aside(self) -> Iterator[None]:
        """Give this thread's place to others while the block waits for something."""
        if not getattr(self._here, "inside", False):
            yield
            return
        self._leave()
        try:
            yield
        finally:
            self._enter(patient=True)

    def _enter(self, *, patient: bool) -> None:
        with self._mutex:
            if self._free:
                self._free -= 1
                return
            turn = threading.Lock()
            turn.acquire()
            (self._patient if patient else self._pages).append(turn)
        turn.acquire()

    def _leave(self) -> None:
        with self._mutex:
            if (turn := self._next()) is None:
                self._free += 1
            else:
                turn.release()

    def _next(self) -> threading.Lock | None:
        if self._pages and (self._pages_in_turn < PAGES_FIRST or not self._patient):
            self._pages_in_turn += 1
            return self._pages.popleft()
        self._pages_in_turn = 0
        return self._patient.popleft() if self._patient else None


class Lanes:
    """Let requests through to the application as the gate does."""

    def __init__(self, application: WSGIApplication, gate: Gate) -> None:
        self._application = application
        self.gate = gate

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        with self.gate.place(patient=sends_a_password(environ)):
            return self._application(environ, start)


def sends_a_password(environ: WSGIEnvironment) -> bool:
    path: str = environ.get("PATH_INFO", "")
    return environ.get("REQUEST_METHOD") == "POST" and path.startswith(PASSWORDS_GO_TO)


def init_app(app: Flask, house: House) -> None:
    gate = Gate(house.settings.threads)
    house.passwords.step_aside = gate.aside
    app.wsgi_app = Lanes(app.wsgi_app, gate)  # type: ignore[method-assign,assignment]
