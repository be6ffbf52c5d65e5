"""A roster from a file: first the report, then the deed; and the roster out again."""

from __future__ import annotations

from flask import Response, render_template, request

from quizsvc.errors import InputError
from quizsvc.services import roster as service
from quizsvc.web.access import actor, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house, now


@admin.get("/roster")
@login_required
def roster() -> str:
    service.export(house(), actor())  # whoever may not keep people is told so here already
    return render_template("admin/roster.html", refusal=None, typed={})


@admin.post("/roster/report")
@login_required
def report() -> str | tuple[str, int]:
    try:
        planned = service.report(house(), actor(), _sent())
    except InputError as refusal:
        return render_template("admin/roster.html", refusal=refusal, typed=request.form), 422
    return render_template("admin/report.html", report=planned)


@admin.post("/roster/take-over")
@login_required
def take_over() -> str:
    text, terms = request.form.get("text", ""), request.form.get("terms", "")
    welcomes = service.take_over(house(), actor(), text, terms, now=now())
    return render_template("admin/welcomes.html", welcomes=welcomes)


@admin.get("/roster.csv")
@login_required
def export() -> Response:
    text = service.export(house(), actor())
    return Response(
        text,
        mimetype="text/csv",
        headers={"Content-Disposition": "attachment; filename=roster.csv"},
    )


def _sent() -> bytes:
    """Return the file sent, or else what was pasted."""
    file = request.files.get("file")
    content = file.read() if file else b""
    return content or request.form.get("pasted", "").encode()
