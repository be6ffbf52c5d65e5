"""Whoever owes their shop a second factor is led to set it up; all else is shut till then."""

from __future__ import annotations

from flask import Flask, redirect, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services.second_factor import sits_a_test
from quizsvc.web.access import actor_or_none
from quizsvc.web.current import house

# Setting it up, leaving, and what asks nobody who they are.
OPEN = frozenset(
    {
        *("accounts.second_factor", "accounts.begin_second_factor", "accounts.turn_on"),
        *("accounts.sign_in", "accounts.check_sign_in", "accounts.code", "accounts.check_code"),
        *("accounts.sign_out", "static"),
    }
)
OPEN_PLACES = ("operating", "verifying")  # health, and certificates shown to anybody


def init_app(app: Flask) -> None:
    app.before_request(lead_to_set_up)


def lead_to_set_up() -> Response | None:
    """Lead there instead of to the page asked for; nobody who sits a timed test is hindered."""
    endpoint = request.endpoint
    if endpoint is None or endpoint in OPEN or request.blueprint in OPEN_PLACES:
        return None
    who = actor_or_none()
    if who is None or not who.owes_second_factor or sits_a_test(house(), who):
        return None
    return redirect(url_for("accounts.second_factor"))
