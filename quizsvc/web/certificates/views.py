"""Certification: importing this makes its blueprints whole; a person's own certificates."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services.certifying import appeals, certificate_pages
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates import (
    candidates,
    changed,
    issued,
    keys,
    making,
    panels,
    public,
    sign_offs,
)
from quizsvc.web.certificates.place import certificates, verifying
from quizsvc.web.current import house, now

__all__ = [
    "candidates",
    "certificates",
    "changed",
    "issued",
    "keys",
    "making",
    "panels",
    "public",
    "sign_offs",
    "verifying",
]


@certificates.get("/")
@login_required
def own() -> str:
    lines = certificate_pages.own(house(), actor(), now=now())
    results = appeals.own_results(house(), actor(), now=now())
    return render_template("certificates/own.html", lines=lines, results=results)


@certificates.post("/decisions/<int:decision_id>/appeal")
@login_required
def appeal(decision_id: int) -> Response:
    words = request.form.get("words", "")
    appeals.appeal(house(), actor(), decision_id, words, now=now())
    flash("Your appeal is filed. Somebody who did not decide will answer it here.")
    return redirect(url_for("certificates.own"))
