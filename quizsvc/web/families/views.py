"""The families' pages, for instructors: what each asks, and samples dealt live."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from quizsvc.services import families as service
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house
from quizsvc.web.families.forms import LONGEST, dealt_in

families = Blueprint("families", __name__, url_prefix="/families")


@families.get("/")
@login_required
def listed() -> str:
    words = request.args.get("words", "")[:LONGEST]
    found = service.families_by_topic(house(), actor(), words=words)
    return render_template("families/list.html", found=found, words=words)


@families.get("/<family_id>")
@login_required
def family(family_id: str) -> str:
    page = service.family_page(house(), actor(), family_id, dealt_in(request.args))
    return render_template("families/family.html", page=page)
