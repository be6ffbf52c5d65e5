"""Sitting: one question at a time, every answer saved at once, the review afterwards."""

from __future__ import annotations

import secrets

from flask import Response, flash, jsonify, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import ConflictError, InputError, QuizsvcError, UnavailableError
from quizsvc.figures.scene import Scene
from quizsvc.rules.sittings import FINISHED
from quizsvc.services.sitting import closing, one_place, question_pages, saving_answers
from quizsvc.services.sitting.words import Saved, SittingPage
from quizsvc.web import access
from quizsvc.web.access import actor, login_required
from quizsvc.web.classroom.forms import answer_fields, saving_in
from quizsvc.web.classroom.pictures import letters_over_drawing, letters_over_picture
from quizsvc.web.classroom.place import classroom
from quizsvc.web.current import house, steady
from quizsvc.web.whole_numbers import whole_number

KEY_BYTES = 16


@classroom.get("/sittings/<token>/<int:number>")
@login_required
def question(token: str, number: int) -> str | BaseResponse:
    held = closing.settle(house(), actor(), token, now=steady())
    if held.sitting.state in FINISHED:
        return redirect(url_for("classroom.review", token=token))
    return _question_page(_page(token, number))


@classroom.post("/sittings/<token>/<int:number>")
@login_required
def save(token: str, number: int) -> BaseResponse | tuple[Response, int]:
    if request.accept_mimetypes.best == "application/json":
        return _saved_in_words(token, number)
    try:
        _save_if_changed(token, number)
        return _done_with(token, number)
    except (ConflictError, InputError) as refusal:
        flash(f"Not saved: {refusal.problem} {refusal.remedy or ''}")
        return _to(token, number)


@classroom.post("/sittings/<token>/place")
@login_required
def take_place(token: str) -> BaseResponse:
    one_place.take_place(house(), actor(), token, place=access.token(), now=steady())
    return _to(token, whole_number(request.form.get("number", "1"), "number"))


@classroom.get("/sittings/<token>/hand-in")
@login_required
def ending(token: str) -> str | BaseResponse:
    held = closing.settle(house(), actor(), token, now=steady())
    if held.sitting.state in FINISHED:
        return redirect(url_for("classroom.review", token=token))
    return render_template("classroom/hand_in.html", page=_page(token, 1))


@classroom.post("/sittings/<token>/hand-in")
@login_required
def hand_in(token: str) -> BaseResponse:
    closing.hand_in(house(), actor(), token, now=steady())
    return redirect(url_for("classroom.review", token=token))


@classroom.get("/sittings/<token>/review")
@login_required
def review(token: str) -> str:
    shown = question_pages.review(house(), actor(), token, now=steady())
    return render_template("classroom/review.html", review=shown)


@classroom.get("/sittings/<token>/<int:number>/picture")
@login_required
def picture(token: str, number: int) -> Response:
    media_type, content = question_pages.picture(house(), actor(), token, number, now=steady())
    return Response(content, mimetype=media_type)


@classroom.get("/sittings/<token>/left")
@login_required
def left(token: str) -> Response:
    """Tell the clock on the page how long there is, and whether it stands."""
    at = steady()
    sitting = closing.settle(house(), actor(), token, now=at).sitting
    span = sitting.clock.left(at)
    seconds = None if span is None else round(span.total_seconds(), 1)
    return jsonify(state=sitting.state.value, left=seconds)


def _page(token: str, number: int) -> SittingPage:
    return question_pages.page(
        house(), actor(), token, number=number, place=access.token(), now=steady()
    )


def _question_page(page: SittingPage) -> str:
    return render_template(
        "classroom/question.html",
        page=page,
        item=page.item,
        typed=_typed(page),
        key=secrets.token_hex(KEY_BYTES),
        letters=_letters(page),
        refusal=None,
    )


def _letters(page: SittingPage) -> Scene | None:
    """Return the letters of the places to choose from, to lie over the figure or picture."""
    if not page.item.places:
        return None
    if page.figure:
        return letters_over_drawing(page.figure, page.item.places)
    _, content = question_pages.picture(house(), actor(), page.token, page.number, now=steady())
    return letters_over_picture(content, page.item.places)


def _typed(page: SittingPage) -> MultiDict[str, str]:
    return MultiDict((name, text) for name, texts in page.typed.items() for text in texts)


def _save(token: str, number: int) -> Saved:
    saving = saving_in(request.form, lambda: _page(token, number).item.bench)
    return saving_answers.save(
        house(), actor(), token, number, saving, place=access.token(), now=steady()
    )


def _save_if_changed(token: str, number: int) -> None:
    """Save what the form holds, unless it is as it was shown or nothing was touched."""
    page = _page(token, number)
    untouched = "untouched" in request.form or answer_fields(request.form) == page.typed
    if not untouched and page.checked is None:
        _save(token, number)


def _done_with(token: str, number: int) -> BaseResponse:
    """Do what the button asked for beside saving, and lead on."""
    deed, place = request.form.get("do", ""), access.token()
    if deed == "check":
        saving_answers.check(house(), actor(), token, number, place=place, now=steady())
    elif deed in {"mark", "unmark"}:
        wanted = deed == "mark"
        saving_answers.look_again(
            house(), actor(), token, number, wanted=wanted, place=place, now=steady()
        )
    elif deed == "end":
        return redirect(url_for("classroom.ending", token=token))
    return _to(token, whole_number(request.form.get("go", str(number)), "question"))


def _saved_in_words(token: str, number: int) -> tuple[Response, int]:
    """Answer the page's script: saved, with what stands now, or why not."""
    try:
        saved = _save(token, number)
    except QuizsvcError as refusal:
        told = {"saved": False, "problem": refusal.problem, "remedy": refusal.remedy or ""}
        return jsonify(told), _status_of(refusal)
    return jsonify(
        saved=True,
        sequence=saved.sequence,
        at=f"{saved.saved_at:%H:%M:%S}",
        answered=saved.answered,
        questions=saved.questions,
        note=saved.note,
    ), 200


def _status_of(refusal: QuizsvcError) -> int:
    """Return the status of a refusal; on 503 the page's script keeps the answer and tries again."""
    if isinstance(refusal, UnavailableError):
        return 503
    return 409 if isinstance(refusal, ConflictError) else 422


def _to(token: str, number: int) -> BaseResponse:
    return redirect(url_for("classroom.question", token=token, number=number))
