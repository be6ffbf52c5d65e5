"""The first page: where somebody starts, by role."""

from __future__ import annotations

from flask import Blueprint, redirect, url_for
from werkzeug.wrappers import Response

from quizsvc.web.access import login_required

home = Blueprint("home", __name__)


@home.get("/")
@login_required
def first() -> Response:
    return redirect(url_for("practise.overview"))
