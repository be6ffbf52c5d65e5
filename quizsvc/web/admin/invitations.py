"""Invitations: made by those who keep people, used by whoever holds the link."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.actors import Role
from quizsvc.services import invite, keep_classes
from quizsvc.services.invite import Wanted
from quizsvc.web.access import actor, actor_or_none, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house, now
from quizsvc.web.limits import SIGN_IN, limiter
from quizsvc.web.whole_numbers import key_number, whole_number


@admin.get("/invitations")
@login_required
def invitations() -> str:
    return _page()


@admin.post("/invitations")
@login_required
def invite_somebody() -> str | tuple[str, int]:
    try:
        token = invite.invite(house(), actor(), _wanted(), now=now())
    except (ConflictError, InputError) as refusal:
        return _page(refusal=refusal), 422
    return _page(link=url_for("admin.join", token=token, _external=True))


@admin.post("/invitations/<int:invitation_id>/withdraw")
@login_required
def withdraw(invitation_id: int) -> Response:
    invite.withdraw(house(), actor(), invitation_id, now=now())
    flash("Withdrawn. The link opens nothing any more.")
    return redirect(url_for("admin.invitations"))


@admin.get("/join/<token>")
def join(token: str) -> str:
    return _join_page(token)


@admin.post("/join/<token>")
@limiter.limit(SIGN_IN)
def use(token: str) -> Response | tuple[str, int]:
    try:
        _use(token)
    except (ConflictError, InputError) as refusal:
        return _join_page(token, refusal), 422
    flash("Welcome. Sign in to begin.")
    return redirect(url_for("accounts.sign_in"))


def _use(token: str) -> None:
    fields, who = request.form, actor_or_none()
    if who is not None:
        leaving = fields.get("leaving") == "yes"
        invite.join_as(house(), who, token, leaving=leaving, now=now())
        return
    invite.join_new(
        house(),
        token,
        name=fields.get("name", ""),
        sign_in_name=fields.get("sign_in_name", ""),
        password=fields.get("password", ""),
        now=now(),
    )


def _wanted() -> Wanted:
    fields = request.form
    role, room, person = (fields.get(name, "") for name in ("role", "class", "person"))
    return Wanted(
        fields.get("name", ""),
        Role(role) if role in set(Role) else Role.LEARNER,
        key_number(room, "class") if room else None,
        key_number(person, "person") if person else None,
        whole_number(fields.get("days", "14"), "days"),
    )


def _page(link: str = "", refusal: InputError | ConflictError | None = None) -> str:
    return render_template(
        "admin/invitations.html",
        open=invite.open_invitations(house(), actor()),
        rooms=keep_classes.list_classes(house(), actor()),
        link=link,
        refusal=refusal,
        typed=request.form if refusal else {"days": "14"},
    )


def _join_page(token: str, refusal: InputError | ConflictError | None = None) -> str:
    held = invite.look(house(), token, now=now())
    typed = request.form if refusal else {"name": held.name, "sign_in_name": held.sign_in_name}
    return render_template("admin/join.html", held=held, refusal=refusal, typed=typed)
