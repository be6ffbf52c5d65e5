"""Build an assignment: its terms, whom it is for, its questions; give it out."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from quizsvc.errors import InputError
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.rules.permissions import May, allows
from quizsvc.services.assigning import choices, drafting, giving_out, pages, questions
from quizsvc.services.assigning.drafting import Audience
from quizsvc.web.access import actor, login_required
from quizsvc.web.classroom import forms
from quizsvc.web.classroom.place import classroom
from quizsvc.web.current import house, now
from quizsvc.web.whole_numbers import whole_number


@classroom.get("/assignments")
@login_required
def assignments() -> str:
    lines = pages.list_run(house(), actor(), now=now())
    return render_template("classroom/assignments.html", lines=lines, may_make=_may_make())


@classroom.get("/assignments/new")
@login_required
def new() -> str:
    return _terms_page(MultiDict(_blank()))


@classroom.post("/assignments/new")
@login_required
def make() -> Response | tuple[str, int]:
    try:
        terms, audience = forms.terms_in(request.form), forms.audience_in(request.form)
        made = drafting.draft(house(), actor(), terms, audience, now=now())
    except InputError as refusal:
        return _terms_page(request.form, refusal), 422
    return redirect(url_for("classroom.build", assignment_id=made))


@classroom.get("/assignments/<int:assignment_id>")
@login_required
def build(assignment_id: int) -> str:
    return _build_page(assignment_id)


@classroom.get("/assignments/<int:assignment_id>/terms")
@login_required
def terms(assignment_id: int) -> str:
    held = pages.look(house(), actor(), assignment_id)
    return _terms_page(_filled(held.terms, held.audience), assignment_id=assignment_id)


@classroom.post("/assignments/<int:assignment_id>/terms")
@login_required
def change(assignment_id: int) -> Response | tuple[str, int]:
    try:
        stated, audience = forms.terms_in(request.form), forms.audience_in(request.form)
        drafting.change(house(), actor(), assignment_id, stated, audience, now=now())
    except InputError as refusal:
        return _terms_page(request.form, refusal, assignment_id=assignment_id), 422
    return _back(assignment_id)


@classroom.post("/assignments/<int:assignment_id>/questions")
@login_required
def add(assignment_id: int) -> Response | tuple[str, int]:
    try:
        _add(assignment_id, request.form)
    except InputError as refusal:
        return _build_page(assignment_id, refusal), 422
    return _back(assignment_id, "questions")


@classroom.post("/assignments/<int:assignment_id>/questions/<int:place>/remove")
@login_required
def remove(assignment_id: int, place: int) -> Response:
    questions.remove(house(), actor(), assignment_id, place)
    return _back(assignment_id, "questions")


@classroom.post("/assignments/<int:assignment_id>/questions/<int:place>/up")
@login_required
def move_up(assignment_id: int, place: int) -> Response:
    questions.move_up(house(), actor(), assignment_id, place)
    return _back(assignment_id, "questions")


@classroom.post("/assignments/<int:assignment_id>/issue")
@login_required
def issue(assignment_id: int) -> Response | tuple[str, int]:
    try:
        giving_out.issue(house(), actor(), assignment_id, now=now())
    except InputError as refusal:
        return _build_page(assignment_id, refusal), 422
    flash("Given out. Learners see it in their list from now on.")
    return redirect(url_for("classroom.watch", assignment_id=assignment_id))


@classroom.post("/assignments/<int:assignment_id>/withdraw")
@login_required
def withdraw(assignment_id: int) -> Response:
    giving_out.withdraw(house(), actor(), assignment_id, now=now())
    flash("Withdrawn. Nobody can begin it any more.")
    return _back(assignment_id)


def _add(assignment_id: int, fields: forms.Fields) -> None:
    """Add questions in the way the pressed button says."""
    place, who, sheet = house(), actor(), fields.get("sheet") or None
    match fields.get("by"):
        case "topic":
            questions.add_from_topic(
                place,
                who,
                assignment_id,
                topic=fields.get("topic", ""),
                count=whole_number(fields.get("count", ""), "number", most=60),
                sheet=sheet,
                level=forms.level_in(fields),
            )
        case "family":
            questions.add_family(
                place,
                who,
                assignment_id,
                family_id=fields.get("family", ""),
                sheet=sheet or "",
                level=forms.level_in(fields),
            )
        case "bank":
            questions.add_bank_item(place, who, assignment_id, item_ref=fields.get("item", ""))
        case "mistakes":
            count = whole_number(fields.get("count", ""), "number", most=60)
            questions.add_by_mistakes(
                place, who, assignment_id, count=count, sheet=sheet, now=now()
            )
        case _:
            counts = forms.blueprint_in(fields)
            questions.add_by_blueprint(place, who, assignment_id, counts, sheet=sheet)


def _build_page(assignment_id: int, refusal: InputError | None = None) -> str:
    return render_template(
        "classroom/build.html",
        held=pages.look(house(), actor(), assignment_id),
        choices=choices.choices(house(), actor()),
        refusal=refusal,
        typed=request.form,
    )


def _terms_page(
    typed: forms.Fields,
    refusal: InputError | None = None,
    *,
    assignment_id: int | None = None,
) -> str:
    return render_template(
        "classroom/terms.html",
        typed=typed,
        refusal=refusal,
        choices=choices.choices(house(), actor()),
        forms=tuple(Form),
        feedbacks=tuple(Feedback),
        assignment_id=assignment_id,
    )


def _blank() -> dict[str, str]:
    return {
        "form": Form.HOMEWORK.value,
        "feedback": Feedback.AT_END.value,
        "opens": f"{now():%Y-%m-%dT%H:%M}",
        "tries": "1",
        "numbers": "own",
        "shuffled": "1",
    }


def _filled(held: Terms, audience: Audience) -> forms.Fields:
    """Return terms as the fields that state them."""
    fields: forms.Fields = MultiDict(
        {
            "title": held.title,
            "form": held.form.value,
            "opens": f"{held.opens_at:%Y-%m-%dT%H:%M}",
            "due": f"{held.due_at:%Y-%m-%dT%H:%M}" if held.due_at else "",
            "tries": str(held.tries),
            "minutes": str(held.minutes or ""),
            "feedback": held.feedback.value,
            "numbers": "own" if held.own_numbers else "same",
            "words": held.words,
            "class": str(audience.class_id or ""),
        }
    )
    for name, ticked in (("shuffled", held.shuffled), ("invigilated", held.invigilated)):
        if ticked:
            fields[name] = "1"
    fields.setlist("person", [str(key) for key in sorted(audience.person_ids)])
    return fields


def _may_make() -> bool:
    return allows(actor(), May.ASSIGN)


def _back(assignment_id: int, anchor: str | None = None) -> Response:
    return redirect(url_for("classroom.build", assignment_id=assignment_id, _anchor=anchor))
