"""The server a benchmark loads: the real application, and routes that do little beside it."""

from __future__ import annotations

from flask import Flask
from sqlalchemy import text

from quizsvc.config import settings_from
from quizsvc.services.house import House
from quizsvc.web import access
from quizsvc.web.app import create_app
from quizsvc.web.current import house

BARE_TABLE = "CREATE TABLE IF NOT EXISTS bare_row (x INTEGER)"


def nothing() -> tuple[str, int]:
    """Do nothing: no session, no form, no database. What is left is the server and Flask."""
    return "", 204


def hello() -> str:
    return "hello"


@access.login_required
def gate() -> tuple[str, int]:
    """Do nothing once past the gate every change passes: session, form token, who is signed in."""
    return str(access.actor().person_id), 200


def commit() -> tuple[str, int]:
    """Insert one number and commit, as durably as everything else here, with nothing around it."""
    with house().write() as connection:
        connection.execute(text("INSERT INTO bare_row VALUES (1)"))
    return "", 204


def application() -> Flask:
    opened = House.open(settings_from())
    app = create_app(opened, overrides={"RATELIMIT_ENABLED": False})
    with opened.write() as connection:
        connection.execute(text(BARE_TABLE))
    for view in (nothing, gate, commit):
        app.add_url_rule(f"/{view.__name__}", view_func=view, methods=["POST"])
    app.add_url_rule("/hello", view_func=hello)
    for view in (nothing, commit):
        app.extensions["csrf"].exempt(view)
    return app
