"""Whom the shop asks for a second factor to sign in."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.rules.actors import Role
from quizsvc.services import second_factor_rule as service
from quizsvc.web.access import actor, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house, now


@admin.get("/signing-in")
@login_required
def sign_in_rule() -> str:
    return render_template("admin/sign_in_rule.html", lines=service.rule(house(), actor()))


@admin.post("/signing-in")
@login_required
def keep_sign_in_rule() -> Response:
    roles = {role for role in Role if role.value in request.form.getlist("role")}
    service.ask_of(house(), actor(), roles, now=now())
    flash("Kept. It counts at the next request of everybody it asks.")
    return redirect(url_for("admin.sign_in_rule"))
