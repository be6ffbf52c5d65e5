"""Classes: make one, put people into it, take them out."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.services import keep_classes
from quizsvc.web.access import actor, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house, now
from quizsvc.web.whole_numbers import key_number


@admin.get("/classes")
@login_required
def classes() -> str:
    return _list_page()


@admin.post("/classes")
@login_required
def make_class() -> Response | tuple[str, int]:
    try:
        made = keep_classes.make_class(house(), actor(), request.form.get("name", ""), now=now())
    except (ConflictError, InputError) as refusal:
        return _list_page(refusal), 422
    return redirect(url_for("admin.class_page", class_id=made))


@admin.get("/classes/<int:class_id>")
@login_required
def class_page(class_id: int) -> str:
    return _class_page(class_id)


@admin.post("/classes/<int:class_id>/<deed>")
@login_required
def change_class(class_id: int, deed: str) -> Response | tuple[str, int]:
    try:
        _change(class_id, deed)
    except (ConflictError, InputError) as refusal:
        return _class_page(class_id, refusal), 422
    return redirect(url_for("admin.class_page", class_id=class_id))


def _change(class_id: int, deed: str) -> None:
    person_id = key_number(request.form.get("person", ""), "person")
    if deed == "put":
        part = keep_classes.part_named(request.form.get("part", ""))
        keep_classes.put_into_class(house(), actor(), class_id, person_id, part, now=now())
        flash("Put into the class.")
    elif deed == "take-out":
        keep_classes.take_out_of_class(house(), actor(), class_id, person_id, now=now())
        flash("Taken out of the class; what was answered stays.")
    else:
        raise NotFoundError("there is nothing of that name to do.", field="deed", value=deed)


def _list_page(refusal: InputError | ConflictError | None = None) -> str:
    return render_template(
        "admin/classes.html",
        rooms=keep_classes.list_classes(house(), actor()),
        refusal=refusal,
        typed=request.form,
    )


def _class_page(class_id: int, refusal: InputError | ConflictError | None = None) -> str:
    page = keep_classes.class_page(house(), actor(), class_id)
    return render_template("admin/class.html", page=page, refusal=refusal, typed=request.form)
