"""Two lanes into the application: requests that wait for a password check, and all others.

A check of a password takes its time on purpose, and a class that starts a test signs in at the
same moment. Were they to wait in the threads that work on pages, everybody would wait. The server
has threads enough for those who wait; of all others only a few are worked on at once, since more
would only be in each other's way.
"""

from __future__ import annotations

from collections.abc import Iterable
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from flask import Flask

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

# Where a form with a password goes.
PASSWORDS_GO_TO = ("/sign-in", "/account/", "/people/join/")


class Lanes:
    """Let ``working`` requests at a time through to the application, and any that wait."""

    def __init__(self, application: WSGIApplication, working: int) -> None:
        self._application = application
        self._working = BoundedSemaphore(working)

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        if sends_a_password(environ):
            return self._application(environ, start)
        with self._working:
            return self._application(environ, start)


def sends_a_password(environ: WSGIEnvironment) -> bool:
    path: str = environ.get("PATH_INFO", "")
    return environ.get("REQUEST_METHOD") == "POST" and path.startswith(PASSWORDS_GO_TO)


def init_app(app: Flask, working: int) -> None:
    app.wsgi_app = Lanes(app.wsgi_app, working)  # type: ignore[method-assign,assignment]
