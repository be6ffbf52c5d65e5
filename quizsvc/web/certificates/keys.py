"""The shop's signing keys: which there are, a new one, one withdrawn."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services.certifying import issue_credentials
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now


@certificates.get("/keys")
@login_required
def keys() -> str:
    found = issue_credentials.keys_listed(house(), actor())
    return render_template("certificates/keys.html", keys=found, shop_id=actor().shop_id)


@certificates.post("/keys")
@login_required
def rotate_key() -> Response:
    name = issue_credentials.rotate(house(), actor(), now=now())
    flash(f"From now on {name} signs. What former keys signed stays good.")
    return redirect(url_for("certificates.keys"))


@certificates.post("/keys/<name>/revoke")
@login_required
def revoke_key(name: str) -> Response:
    reason = request.form.get("reason", "")
    count = issue_credentials.revoke_key(house(), actor(), name, reason, now=now())
    flash(f"{name} is withdrawn. Signed anew by another key: {count}.")
    return redirect(url_for("certificates.keys"))
