"""Who may see what, all that is kept about somebody as a file, and erasing a person."""

from __future__ import annotations

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.rules import privacy as rules
from quizsvc.rules.actors import Role
from quizsvc.rules.permissions import May, require
from quizsvc.rules.retention import RULES, rule_for
from quizsvc.services import keep_people
from quizsvc.services import privacy as service
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.shop.place import shop


@shop.get("/privacy")
@login_required
def privacy() -> str:
    seen, deeds = rules.who_sees(), rules.deeds_of()
    return render_template(
        "shop/privacy.html", seen=seen, deeds=deeds, roles=Role, rules=RULES, rule_for=rule_for
    )


@shop.post("/people/<int:person_id>/export")
@login_required
def export(person_id: int) -> Response:
    made = service.export_person(house(), actor(), person_id, now=now())
    attachment = {"Content-Disposition": f"attachment; filename={made.file_name}"}
    return Response(made.content, content_type="application/zip", headers=attachment)


@shop.get("/people/<int:person_id>/erase")
@login_required
def before_erasing(person_id: int) -> str:
    require(actor(), May.ERASE_PERSON)
    held = keep_people.person(house(), actor(), person_id)
    return render_template("shop/erase.html", held=held)


@shop.post("/people/<int:person_id>/erase")
@login_required
def erase(person_id: int) -> BaseResponse:
    name = request.form.get("name", "")
    service.erase_person(house(), actor(), person_id, name, now=now())
    flash("Erased. Certificates and the log still verify; who it was is gone.")
    return redirect(url_for("admin.people"))
