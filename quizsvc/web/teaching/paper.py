"""Tests on paper: print them, send photographs of the sheets, decide doubtful marks, count."""

from __future__ import annotations

import re

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import NotFoundError
from quizsvc.rules.permissions import May, allows
from quizsvc.services.on_paper import (
    counting,
    documents,
    doubtful_marks,
    printed_pages,
    printing,
    sheet_marks,
    sheet_pictures,
)
from quizsvc.services.on_paper.documents import Document
from quizsvc.services.on_paper.sheet_pictures import PictureRead
from quizsvc.web.access import actor, actor_or_none, login_required
from quizsvc.web.current import house, now
from quizsvc.web.teaching.again import pdf
from quizsvc.web.teaching.place import teaching
from quizsvc.web.whole_numbers import key_number, whole_number

LARGEST_UPLOAD = 120_000_000  # bytes of pictures in one request
QUESTION = re.compile(r"q(\d{1,3})", re.ASCII)  # the field of a question's letters
MOST_TOLD = 8  # pictures that could not be read, named one by one


@teaching.url_value_preprocessor
def allow_pictures(endpoint: str | None, values: dict[str, object] | None) -> None:  # noqa: ARG001
    """Let whoever gives out tests send pictures; all other requests stay small.

    This runs before anything reads the form.
    """
    person = actor_or_none() if endpoint == "teaching.read" else None
    if person is not None and allows(person, May.ASSIGN):
        request.max_content_length = LARGEST_UPLOAD


@teaching.get("/paper")
@login_required
def paper() -> str:
    place = printed_pages.paper_place(house(), actor(), now=now())
    return render_template("teaching/paper.html", place=place, most=printing.MOST_VARIANTS)


@teaching.post("/paper")
@login_required
def make() -> BaseResponse:
    assignment = key_number(request.form.get("assignment", ""), "assignment")
    variants = whole_number(request.form.get("variants", ""), "variants")
    made = printing.print_test(house(), actor(), assignment, variants=variants, now=now())
    return redirect(url_for("teaching.printed", test_id=made))


@teaching.get("/paper/<int:test_id>")
@login_required
def printed(test_id: int) -> str:
    shown = printed_pages.view(house(), actor(), test_id)
    return render_template("teaching/printed.html", test=shown)


@teaching.get("/paper/<int:test_id>/<what>.pdf")
@login_required
def document(test_id: int, what: str) -> Response:
    if what not in set(Document):
        raise NotFoundError("there is no such document.", field="document", value=what[:40])
    content = documents.document(house(), actor(), test_id, Document(what))
    return pdf(content, f"{what}-{test_id}")


@teaching.post("/paper/read")
@login_required
def read() -> BaseResponse:
    sent = [(one.filename or "picture", one.read()) for one in request.files.getlist("pictures")]
    done = sheet_pictures.read_pictures(
        house(), actor(), [one for one in sent if one[1]], now=now()
    )
    _tell(done)
    first = next((one.test_id for one in done if one.test_id is not None), None)
    if first is None:
        return redirect(url_for("teaching.paper"))
    return redirect(url_for("teaching.printed", test_id=first))


@teaching.get("/paper/<int:test_id>/sheets/<int:copy>")
@login_required
def sheet(test_id: int, copy: int) -> str:
    shown = doubtful_marks.sheet(house(), actor(), test_id, copy)
    return render_template("teaching/sheet.html", sheet=shown, none=sheet_marks.NONE)


@teaching.get("/paper/<int:test_id>/sheets/<int:copy>/rows/<int:question>.png")
@login_required
def row(test_id: int, copy: int, question: int) -> Response:
    content = doubtful_marks.row_picture(house(), actor(), test_id, copy, question)
    return Response(content, mimetype="image/png")


@teaching.post("/paper/<int:test_id>/sheets/<int:copy>")
@login_required
def decide(test_id: int, copy: int) -> BaseResponse:
    decided = {
        int(found[1]): "".join(request.form.getlist(name))
        for name in request.form
        if (found := QUESTION.fullmatch(name))
    }
    state = doubtful_marks.decide(house(), actor(), test_id, copy, decided, now=now())
    flash(f"Noted. This sheet is now: {state.value}.")
    return redirect(url_for("teaching.printed", test_id=test_id))


@teaching.post("/paper/<int:test_id>/count")
@login_required
def count(test_id: int) -> BaseResponse:
    done = counting.count_sheets(house(), actor(), test_id, now=now())
    flash(f"{done} sheets now count in the records.")
    return redirect(url_for("teaching.printed", test_id=test_id))


def _tell(done: tuple[PictureRead, ...]) -> None:
    well = sum(one.well for one in done)
    flash(f"{well} of {len(done)} pictures read.")
    for one in [one for one in done if not one.well][:MOST_TOLD]:
        flash(f"{one.name}: {one.says}")
