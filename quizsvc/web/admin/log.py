"""The audit log of the shop."""

from __future__ import annotations

from flask import render_template, request

from quizsvc.services import read_log
from quizsvc.web.access import actor, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house
from quizsvc.web.whole_numbers import whole_number


@admin.get("/log")
@login_required
def log() -> str:
    text = request.args.get("before", "")
    before = whole_number(text, "before", most=10**11) if text else None
    return render_template(
        "admin/log.html", page=read_log.log_page(house(), actor(), before=before)
    )
