"""Read the engine sheet that is in use, and say that one has."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services import read_sheets
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.sheets.laid_out import SheetForm
from quizsvc.web.sheets.typed import tree_of
from quizsvc.web.shop.place import shop
from quizsvc.web.whole_numbers import whole_number


@shop.get("/sheets/<sheet_id>")
@login_required
def read_sheet(sheet_id: str) -> str:
    page = read_sheets.read_sheet(house(), actor(), sheet_id)
    form = SheetForm(tree_of(page.sheet))
    return render_template("shop/read_sheet.html", page=page, form=form)


@shop.post("/sheets/<sheet_id>")
@login_required
def say_read(sheet_id: str) -> Response:
    revision = whole_number(request.form.get("revision", ""), "revision")
    read_sheets.say_read(house(), actor(), sheet_id, revision, now=now())
    flash("Noted that you read it.")
    return redirect(url_for("shop.record"))
