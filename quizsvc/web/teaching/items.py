"""Item analysis: the shop's items, one item in full, and how a test measured."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services import form_report, item_report, studies_due
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.teaching.place import teaching


@teaching.get("/items")
@login_required
def items() -> str:
    found = item_report.item_list(house(), actor(), topic=request.args.get("topic", ""))
    return render_template("teaching/items.html", found=found)


@teaching.post("/items/study")
@login_required
def study() -> Response:
    studies_due.ask_for_study(house(), actor(), now=now())
    flash("The answers are being studied; look again in a minute.")
    return redirect(url_for("teaching.items"))


@teaching.get("/items/<path:item_ref>")
@login_required
def item(item_ref: str) -> str:
    page = item_report.item_page(house(), actor(), item_ref)
    return render_template("teaching/item.html", page=page)


@teaching.get("/tests/<int:assignment_id>")
@login_required
def form(assignment_id: int) -> str:
    found = form_report.form_report(house(), actor(), assignment_id)
    return render_template("teaching/form.html", form=found)
