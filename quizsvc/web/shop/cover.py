"""Cover of jobs by shifts with the smallest training plan, and the team's trend."""

from __future__ import annotations

from flask import render_template, request

from quizsvc.services import cover as service
from quizsvc.services.readiness import day_in
from quizsvc.services.team_trend import read_trend
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.shop.place import shop
from quizsvc.web.whole_numbers import whole_number


@shop.get("/cover")
@login_required
def cover() -> str:
    asked = request.args
    wanted = whole_number(asked.get("wanted", "2"), "wanted", most=100)
    on = day_in(asked.get("on", ""))
    page = service.read_cover(house(), actor(), wanted=wanted, on=on, now=now())
    return render_template("shop/cover.html", page=page, asked=asked.to_dict())


@shop.get("/trend")
@login_required
def trend() -> str:
    return render_template("shop/trend.html", page=read_trend(house(), actor()))
