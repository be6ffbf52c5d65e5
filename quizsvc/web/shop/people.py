"""A person's record: one's own, or that of somebody in the team; and their shift."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services import person_record, shop_jobs
from quizsvc.services.readiness import day_in
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.shop.place import shop


@shop.get("/record")
@login_required
def record() -> str:
    return _page(actor().person_id)


@shop.get("/people/<int:person_id>")
@login_required
def person(person_id: int) -> str:
    return _page(person_id)


@shop.post("/people/<int:person_id>/shift")
@login_required
def set_shift(person_id: int) -> Response:
    shift = request.form.get("shift", "")
    shop_jobs.set_shift(house(), actor(), person_id, shift, now=now())
    flash("Shift kept.")
    return redirect(url_for("shop.person", person_id=person_id))


def _page(person_id: int) -> str:
    on = day_in(request.args.get("on", ""))
    page = person_record.read_person(house(), actor(), person_id, on=on, now=now())
    return render_template("shop/person.html", page=page, asked=request.args.to_dict())
