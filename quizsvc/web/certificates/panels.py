"""Panels in the browser: open one, estimate as a judge, approve the cut."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import InputError
from quizsvc.services.certifying import judging, panels
from quizsvc.services.certifying.panels import CutChoice
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates import forms
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now
from quizsvc.web.whole_numbers import key_number


@certificates.post("/schemes/<int:version_id>/panel")
@login_required
def open_panel(version_id: int) -> Response:
    judges = frozenset(key_number(text, "judges") for text in request.form.getlist("judge"))
    panels.open_panel(house(), actor(), version_id, judges, now=now())
    flash("The panel is open. Its judges find it on this page and in the list of schemes.")
    return redirect(url_for("certificates.scheme", version_id=version_id))


@certificates.get("/schemes/<int:version_id>/judge")
@login_required
def judge(version_id: int) -> str:
    return _judge_page(version_id)


@certificates.post("/schemes/<int:version_id>/judge")
@login_required
def estimate(version_id: int) -> Response | tuple[str, int]:
    finish = "finish" in request.form
    try:
        chances = forms.chances_in(request.form)
        judging.estimate(house(), actor(), version_id, chances, finish=finish, now=now())
    except InputError as refusal:
        return _judge_page(version_id, refusal), 422
    flash("Handed in. Your estimates stand." if finish else "Kept. You can go on later.")
    where = "certificates.scheme" if finish else "certificates.judge"
    return redirect(url_for(where, version_id=version_id))


@certificates.post("/schemes/<int:version_id>/cut")
@login_required
def approve_cut(version_id: int) -> Response:
    adjusted = request.form.get("choice") == "adjusted"
    choice = CutChoice.ADJUSTED if adjusted else CutChoice.MEAN
    reason = request.form.get("reason", "")
    panels.approve_cut(house(), actor(), version_id, choice, reason, now=now())
    flash("The cut score is approved. The version can be published.")
    return redirect(url_for("certificates.scheme", version_id=version_id))


def _judge_page(version_id: int, refusal: InputError | None = None) -> str:
    held, questions = judging.sheet_for_judge(house(), actor(), version_id)
    return render_template(
        "certificates/judge.html",
        held=held,
        questions=questions,
        refusal=refusal,
        typed=request.form,
    )
