"""The shops somebody works in: go on in another, make a new one."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.permissions import May, allows
from quizsvc.services import accounts, keep_shops
from quizsvc.web import access
from quizsvc.web.access import actor, login_required
from quizsvc.web.admin.place import admin
from quizsvc.web.current import house, now


@admin.get("/shops")
@login_required
def shops() -> str:
    return _page()


@admin.post("/shops/<int:shop_id>/work-in")
@login_required
def work_in(shop_id: int) -> Response:
    accounts.work_in(house(), actor(), access.token(), shop_id)
    flash("You work in another shop now.")
    return redirect(url_for("home.first"))


@admin.post("/shops")
@login_required
def new_shop() -> Response | tuple[str, int]:
    try:
        keep_shops.new_shop(house(), actor(), request.form.get("name", ""), now=now())
    except (ConflictError, InputError) as refusal:
        return _page(refusal), 422
    flash("Made. You are its administrator; go on there to add people.")
    return redirect(url_for("admin.shops"))


def _page(refusal: InputError | ConflictError | None = None) -> str:
    return render_template(
        "admin/shops.html",
        shops=keep_shops.my_shops(house(), actor()),
        may_make=allows(actor(), May.MAKE_SHOPS),
        refusal=refusal,
        typed=request.form,
    )
