"""What to teach again, class by class, and the lesson sheets that come of it."""

from __future__ import annotations

from flask import Response, render_template, request

from quizsvc.services import lesson as lessons
from quizsvc.services import teach_again as service
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.teaching.place import teaching
from quizsvc.web.whole_numbers import whole_number


@teaching.get("/")
@login_required
def classes() -> str:
    found = service.classes_to_see(house(), actor())
    return render_template("teaching/classes.html", classes=found)


@teaching.get("/classes/<int:class_id>")
@login_required
def report(class_id: int) -> str:
    days = whole_number(request.args.get("days", str(service.USUAL_PERIOD)), "days")
    found = service.report(house(), actor(), class_id, days=days, now=now())
    return render_template("teaching/report.html", report=found, periods=service.PERIODS)


@teaching.get("/lessons/<idea>")
@login_required
def lesson(idea: str) -> str:
    made = lessons.lesson(house(), actor(), idea)
    return render_template("teaching/lesson.html", lesson=made)


@teaching.get("/lessons/<idea>.pdf")
@login_required
def lesson_pdf(idea: str) -> Response:
    made = lessons.lesson_as_pdf(house(), actor(), idea)
    return pdf(made, f"lesson-{idea}")


def pdf(content: bytes, name: str) -> Response:
    """Return a PDF that the browser shows and saves under a name of its own."""
    held = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return Response(content, mimetype="application/pdf", headers=held)
