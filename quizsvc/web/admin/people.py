"""The people of the shop: the list, one person, their roles, whether they may sign in."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.rules.actors import Role
from quizsvc.rules.permissions import may_give
from quizsvc.services import keep_people, own_account, reset_second_factor
from quizsvc.web.access import actor, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house, now


@admin.get("/")
@login_required
def people() -> str:
    words = request.args.get("words", "")
    found = keep_people.list_people(house(), actor(), words=words)
    return render_template("admin/people.html", people=found, words=words)


@admin.get("/<int:person_id>")
@login_required
def person(person_id: int) -> str:
    return _person_page(person_id)


@admin.post("/<int:person_id>/<deed>")
@login_required
def change(person_id: int, deed: str) -> Response | tuple[str, int]:
    try:
        flash(_change(person_id, deed))
    except (ConflictError, InputError) as refusal:
        return _person_page(person_id, refusal), 422
    gone = deed == "leave"
    return redirect(
        url_for("admin.people") if gone else url_for("admin.person", person_id=person_id)
    )


@admin.post("/everybody/sign-out")
@login_required
def sign_all_out() -> Response:
    own_account.end_sessions_of_all(house(), actor(), now=now())
    return redirect(url_for("admin.people"))  # which asks to sign in


def _change(person_id: int, deed: str) -> str:
    """Do it, and return in words what came of it."""
    place, who, at = house(), actor(), now()
    match deed:
        case "roles":
            roles = frozenset(Role(text) for text in request.form.getlist("role") if text in _ROLES)
            keep_people.set_roles(place, who, person_id, roles, now=at)
            return "Roles kept. They count at the person's next request."
        case "rename":
            keep_people.rename(place, who, person_id, request.form.get("name", ""))
            return "Name kept."
        case "leave":
            keep_people.leave_shop(place, who, person_id, now=at)
            return "The person has left the shop; their record stays theirs."
        case _:
            return _change_signing_in(person_id, deed)


def _change_signing_in(person_id: int, deed: str) -> str:
    place, who, at = house(), actor(), now()
    match deed:
        case "deactivate":
            keep_people.deactivate(place, who, person_id, now=at)
            return "Deactivated. The person is signed out everywhere; the record stays."
        case "reactivate":
            keep_people.reactivate(place, who, person_id, now=at)
            return "Reactivated."
        case "sign-out":
            own_account.end_sessions_of(place, who, person_id, now=at)
            return "Signed out everywhere. The person may sign in again."
        case "reset-second-factor":
            reset_second_factor.reset(place, who, person_id, now=at)
            return "Reset. The person is signed out everywhere, and signs in by password."
        case _:
            raise NotFoundError("there is nothing of that name to do.", field="deed", value=deed)


def _person_page(person_id: int, refusal: InputError | ConflictError | None = None) -> str:
    held = keep_people.person(house(), actor(), person_id)
    given = tuple(role for role in Role if may_give(actor(), role) or role in held.roles)
    factor = reset_second_factor.of_person(house(), actor(), person_id)
    return render_template(
        "admin/person.html", held=held, roles=given, factor=factor, refusal=refusal
    )


_ROLES = {role.value for role in Role}
