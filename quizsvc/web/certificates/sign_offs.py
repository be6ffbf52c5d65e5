"""Sign-offs on a phone, beside the vehicle."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from quizsvc.errors import InputError, QuizsvcError
from quizsvc.rules.permissions import May, allows
from quizsvc.rules.schemes import VersionState
from quizsvc.services import people_to_choose
from quizsvc.services.certifying import schemes, sign_off
from quizsvc.web.access import actor, actor_or_none, login_required
from quizsvc.web.certificates import forms
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now
from quizsvc.web.whole_numbers import key_number

LARGEST = 30_000_000  # bytes of one request: some pictures of a telephone
LARGEST_PICTURE = 15_000_000


@certificates.url_value_preprocessor
def allow_pictures(endpoint: str | None, _values: object) -> None:
    """Let assessors send pictures; before the form token is looked for, which reads the form."""
    person = actor_or_none() if endpoint == "certificates.hand_in" else None
    if person is not None and allows(person, May.SIGN_OFF):
        request.max_content_length = LARGEST


@certificates.get("/sign-offs")
@login_required
def sign_offs() -> str:
    return _list_page()


@certificates.post("/sign-offs")
@login_required
def begin() -> Response | tuple[str, int]:
    scheme, _, task = request.form.get("task", "").partition("/")
    try:
        person = key_number(request.form.get("person", ""), "candidate")
        version = key_number(scheme, "task")
        token = sign_off.begin(house(), actor(), version, task, person, now=now())
    except QuizsvcError as refusal:
        return _list_page(refusal), 422
    return redirect(url_for("certificates.sign_off_page", token=token))


@certificates.get("/sign-offs/<token>")
@login_required
def sign_off_page(token: str) -> str:
    page = sign_off.look(house(), actor(), token)
    return render_template("certificates/sign_off.html", page=page, me=actor().person_id)


@certificates.post("/sign-offs/<token>")
@login_required
def hand_in(token: str) -> Response:
    done, notes = forms.steps_in(request.form), request.form.get("notes", "")
    pictures = [_bytes(file) for file in request.files.getlist("picture") if file.filename]
    passed = sign_off.hand_in(house(), actor(), token, done, notes, pictures, now=now())
    flash("Signed off: passed." if passed else "Signed off: not passed.")
    return redirect(url_for("certificates.sign_off_page", token=token))


@certificates.post("/sign-offs/<token>/confirm")
@login_required
def confirm_sign_off(token: str) -> Response:
    sign_off.confirm(house(), actor(), token, now=now())
    flash("Confirmed: you saw it done as ticked.")
    return redirect(url_for("certificates.sign_off_page", token=token))


@certificates.get("/sign-offs/<token>/pictures/<int:picture_id>")
@login_required
def sign_off_picture(token: str, picture_id: int) -> Response:
    media_type, content = sign_off.picture(house(), actor(), token, picture_id)
    return Response(content, mimetype=media_type)


def _bytes(file: FileStorage) -> bytes:
    content = file.stream.read(LARGEST_PICTURE + 1)
    if len(content) > LARGEST_PICTURE:
        raise InputError(
            "that picture is too large.",
            field="picture",
            value=f"{len(content) // 1_000_000} MB",
            remedy="At most 15 MB each.",
        )
    return content


def _list_page(refusal: QuizsvcError | None = None) -> str:
    published = [
        schemes.look(house(), actor(), one.id)
        for one in schemes.listed(house(), actor())
        if one.state is VersionState.PUBLISHED
    ]
    tasks = [
        (f"{held.id}/{task.id}", f"{task.title} ({held.terms.title})")
        for held in published
        for task in held.terms.tasks
    ]
    return render_template(
        "certificates/sign_offs.html",
        rows=sign_off.listed(house(), actor()),
        tasks=tasks,
        people=people_to_choose.learners(house(), actor()),
        refusal=refusal,
        typed=request.form,
        me=actor().person_id,
    )
