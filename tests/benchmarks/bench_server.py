"""The server a benchmark loads: the real application, and POSTs that do little beside it."""

from __future__ import annotations

from flask import Flask

from quizsvc.config import settings_from
from quizsvc.services.house import House
from quizsvc.web import access
from quizsvc.web.app import create_app


def nothing() -> tuple[str, int]:
    """Do nothing: no session, no form, no database. What is left is the server and Flask."""
    return "", 204


@access.login_required
def gate() -> tuple[str, int]:
    """Do nothing once past the gate every change passes: session, form token, who is signed in."""
    return str(access.actor().person_id), 200


def application() -> Flask:
    app = create_app(House.open(settings_from()), overrides={"RATELIMIT_ENABLED": False})
    app.add_url_rule("/nothing", view_func=nothing, methods=["POST"])
    app.add_url_rule("/gate", view_func=gate, methods=["POST"])
    app.extensions["csrf"].exempt(nothing)
    return app
