"""What is due: the list, the page before one begins, the calendar."""

from __future__ import annotations

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.services import calendar_feed
from quizsvc.services.sitting import beginning, due_pages
from quizsvc.web import access
from quizsvc.web.access import actor, login_required
from quizsvc.web.classroom.place import classroom
from quizsvc.web.current import house, now, steady


@classroom.get("/")
@login_required
def due() -> str:
    lines = due_pages.due_for(house(), actor(), now=steady())
    return render_template("classroom/due.html", lines=lines, at=steady())


@classroom.get("/assignments/<int:assignment_id>/begin")
@login_required
def before(assignment_id: int) -> str:
    shown = due_pages.before(house(), actor(), assignment_id, now=steady())
    return render_template("classroom/before.html", shown=shown)


@classroom.post("/assignments/<int:assignment_id>/begin")
@login_required
def begin(assignment_id: int) -> BaseResponse:
    code, place = request.form.get("code", ""), access.token()
    token = beginning.begin(house(), actor(), assignment_id, code=code, place=place, now=steady())
    return redirect(url_for("classroom.question", token=token, number=1))


@classroom.get("/calendar")
@login_required
def calendar() -> str:
    since = calendar_feed.feed_since(house(), actor())
    return render_template("classroom/calendar.html", since=since, address="")


@classroom.post("/calendar")
@login_required
def new_calendar() -> str:
    token = calendar_feed.new_feed(house(), actor(), now=now())
    address = url_for("classroom.feed", token=token, _external=True)
    return render_template("classroom/calendar.html", since=now(), address=address)


@classroom.post("/calendar/stop")
@login_required
def stop_calendar() -> BaseResponse:
    calendar_feed.stop_feed(house(), actor())
    flash("The calendar address no longer works.")
    return redirect(url_for("classroom.calendar"))


@classroom.get("/calendar/<token>.ics")
def feed(token: str) -> Response:
    """Send the calendar to whoever holds its secret address: calendars cannot sign in."""
    link = url_for("classroom.due", _external=True)
    content = calendar_feed.feed(house(), token, link=link, now=now())
    return Response(content, mimetype="text/calendar")
