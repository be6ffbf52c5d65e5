"""Watch a test and run it: the live view, pause, time, void questions, release, results."""

from __future__ import annotations

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import NotFoundError
from quizsvc.services.watching import clocks, ending, kept_sittings, live_view, results, room_code
from quizsvc.web.access import actor, login_required
from quizsvc.web.classroom.place import classroom
from quizsvc.web.current import house, steady
from quizsvc.web.whole_numbers import whole_number


@classroom.get("/assignments/<int:assignment_id>/watch")
@login_required
def watch(assignment_id: int) -> str:
    live = live_view.live(house(), actor(), assignment_id, now=steady())
    tallies = results.tallies(house(), actor(), assignment_id)
    return render_template("classroom/watch.html", live=live, tallies=tallies)


@classroom.get("/assignments/<int:assignment_id>/watch/rows")
@login_required
def rows(assignment_id: int) -> str | tuple[str, int]:
    """Send only the rows, or nothing if they are as the page has them."""
    live = live_view.live(house(), actor(), assignment_id, now=steady())
    if request.args.get("seen") == live.version:
        return "", 204
    return render_template("classroom/_rows.html", live=live)


@classroom.post("/assignments/<int:assignment_id>/watch/<deed>")
@login_required
def run(assignment_id: int, deed: str) -> BaseResponse:
    flash(_run(assignment_id, deed))
    return _back(assignment_id)


@classroom.post("/assignments/<int:assignment_id>/people/<int:person_id>/extra")
@login_required
def extra(assignment_id: int, person_id: int) -> BaseResponse:
    minutes = whole_number(request.form.get("minutes", ""), "extra minutes")
    clocks.allow_extra(house(), actor(), assignment_id, person_id, minutes, now=steady())
    flash("Noted. It counts from the person's next beginning.")
    return _back(assignment_id)


@classroom.post("/assignments/<int:assignment_id>/questions/<int:place>/void")
@login_required
def void(assignment_id: int, place: int) -> BaseResponse:
    reason = request.form.get("reason", "")
    changed = results.void(house(), actor(), assignment_id, place, reason, now=steady())
    flash(f"Question {place} counts for nobody. Results changed: {changed}.")
    return _back(assignment_id)


@classroom.get("/assignments/<int:assignment_id>/sittings/<token>")
@login_required
def kept(assignment_id: int, token: str) -> str:
    sitting = kept_sittings.kept(house(), actor(), assignment_id, token, now=steady())
    return render_template("classroom/kept.html", kept=sitting, token=token)


@classroom.get("/assignments/<int:assignment_id>/sittings/<token>/<int:number>/picture")
@login_required
def kept_picture(assignment_id: int, token: str, number: int) -> Response:
    media_type, content = kept_sittings.kept_picture(house(), actor(), assignment_id, token, number)
    return Response(content, mimetype=media_type)


@classroom.post("/assignments/<int:assignment_id>/sittings/<token>/<deed>")
@login_required
def run_one(assignment_id: int, token: str, deed: str) -> BaseResponse:
    flash(_run_one(assignment_id, token, deed))
    return _back(assignment_id)


def _run_one(assignment_id: int, token: str, deed: str) -> str:
    """Do it for one sitting, and return in words what came of it."""
    place, who, at = house(), actor(), steady()
    match deed:
        case "close":
            ending.close(place, who, assignment_id, token, now=at)
            return "Closed. What was saved counts."
        case "add":
            minutes = whole_number(request.form.get("minutes", ""), "minutes")
            clocks.add_minutes(place, who, assignment_id, minutes, token=token, now=at)
            return f"{minutes} minutes added for one person."
        case _:
            raise NotFoundError("there is nothing of that name to do.", field="deed", value=deed)


def _run(assignment_id: int, deed: str) -> str:
    """Do it, and return in words what came of it."""
    place, who, at = house(), actor(), steady()
    match deed:
        case "open-room":
            code = room_code.open_room(place, who, assignment_id, now=at)
            return f"The room is open. Show this code: {code[:3]} {code[3:]}"
        case "close-room":
            room_code.close_room(place, who, assignment_id)
            return "The room is shut. Who has begun goes on."
        case "pause":
            return f"Paused: {clocks.pause_all(place, who, assignment_id, now=at)}."
        case "go-on":
            return f"Going on: {clocks.go_on_all(place, who, assignment_id, now=at)}."
        case "add":
            minutes = whole_number(request.form.get("minutes", ""), "minutes")
            reached = clocks.add_minutes(place, who, assignment_id, minutes, now=at)
            return f"{minutes} minutes added for {reached}."
        case "release":
            results.release(place, who, assignment_id, now=at)
            return "Released. Everybody who has finished sees what was right."
        case _:
            raise NotFoundError("there is nothing of that name to do.", field="deed", value=deed)


def _back(assignment_id: int) -> BaseResponse:
    return redirect(url_for("classroom.watch", assignment_id=assignment_id))
