"""The readiness matrix: on the page, and as CSV and XLSX."""

from __future__ import annotations

from flask import Response, render_template, request

from quizsvc.rules.readiness import ReadyState
from quizsvc.services import readiness, shop_report
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.shop.cells import fill, look_of
from quizsvc.web.shop.forms import wanted_in
from quizsvc.web.shop.place import shop

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
shop.add_app_template_filter(look_of, "look_of")


@shop.get("/")
@login_required
def matrix() -> str:
    page = readiness.read_matrix(house(), actor(), wanted_in(request.args), now=now())
    asked = request.args.to_dict()
    kept = {name: text for name, text in asked.items() if name not in {"page", "whole"} and text}
    return render_template(
        "shop/matrix.html", filled=fill(page), asked=asked, kept=kept, states=ReadyState
    )


@shop.get("/matrix.csv")
@login_required
def matrix_csv() -> Response:
    wanted = wanted_in(request.args, whole=True)
    text = shop_report.matrix_csv(house(), actor(), wanted, now=now())
    return _download(text.encode(), "text/csv; charset=utf-8", "readiness.csv")


@shop.get("/matrix.xlsx")
@login_required
def matrix_xlsx() -> Response:
    wanted = wanted_in(request.args, whole=True)
    content = shop_report.matrix_xlsx(house(), actor(), wanted, now=now())
    return _download(content, XLSX, "readiness.xlsx")


def _download(content: bytes, media_type: str, name: str) -> Response:
    return Response(
        content,
        content_type=media_type,
        headers={"Content-Disposition": f"attachment; filename={name}"},
    )
