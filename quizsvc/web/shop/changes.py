"""What changed of sheets and items, whom it touches, and the quiz that bridges it."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services import bridging, changed_truth
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.shop.forms import people_in
from quizsvc.web.shop.place import shop

ORDERED = (
    "Ordered. It stands in each person’s list of what is due; until they pass it, "
    "they count as out of date."
)


@shop.get("/changes")
@login_required
def changes() -> str:
    return render_template("shop/changes.html", page=changed_truth.list_changes(house(), actor()))


@shop.get("/changes/sheets/<sheet_id>")
@login_required
def sheet_change(sheet_id: str) -> str:
    found = changed_truth.sheet_change(house(), actor(), sheet_id)
    return render_template("shop/sheet_change.html", found=found)


@shop.post("/changes/sheets/<sheet_id>")
@login_required
def bridge_sheet(sheet_id: str) -> Response:
    people = people_in(request.form)
    bridging.order_for_sheet(house(), actor(), sheet_id, people, now=now())
    flash(ORDERED)
    return redirect(url_for("shop.changes"))


@shop.get("/changes/item")
@login_required
def item_change() -> str:
    found = changed_truth.item_change(house(), actor(), request.args.get("item", ""))
    return render_template("shop/item_change.html", found=found)


@shop.post("/changes/item")
@login_required
def bridge_item() -> Response:
    item, people = request.form.get("item", ""), people_in(request.form)
    bridging.order_for_item(house(), actor(), item, people, now=now())
    flash(ORDERED)
    return redirect(url_for("shop.changes"))
