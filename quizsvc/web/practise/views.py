"""Practice: overview, next item, its answer, what to learn from it, and the history."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

from flask import Blueprint, flash, redirect, render_template, request, send_file, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import InputError, NotFoundError
from quizsvc.figures.scene import Scene
from quizsvc.items.topics import TOPICS
from quizsvc.services import practise as service
from quizsvc.services.bench import bench_in_item
from quizsvc.services.pictures import picture_bytes
from quizsvc.services.shown import OpenItem
from quizsvc.web.access import actor, login_required
from quizsvc.web.bench.showing import Shown, item_place, page_of
from quizsvc.web.current import house, now
from quizsvc.web.practise.forms import given_in, page_in
from quizsvc.web.practise.places import lettered, letters_over

Wish = dict[str, str | None]

practise = Blueprint("practise", __name__, url_prefix="/practise")


@practise.get("/")
@login_required
def overview() -> str:
    standing = service.overview(house(), actor(), now())
    return render_template("practise/overview.html", overview=standing, wish=_wish(request.args))


@practise.post("/next")
@login_required
def put_next() -> Response:
    wish = _wish(request.form)
    token = service.put_next(house(), actor(), **wish, now=now())
    return _to("practise.item", token, wish)


@practise.get("/items/<token>")
@login_required
def item(token: str) -> str | Response:
    shown = _open(token)
    return _to_outcome(token) if shown.answered else _item_page(shown)


@practise.post("/items/<token>")
@login_required
def answer(token: str) -> Response | tuple[str, int]:
    try:
        given = given_in(request.form, lambda: _open(token).bench)
        first = service.submit(house(), actor(), token, given, now=now())
    except InputError as refusal:
        return _refused(token, refusal)
    if not first:
        flash("You had answered this item before. The first answer counts; nothing was changed.")
    return _to_outcome(token)


@practise.get("/items/<token>/outcome")
@login_required
def outcome(token: str) -> str:
    learnt = service.outcome(house(), actor(), token, now=now())
    figure = _figure(token, solution=True) if learnt.has_solution_figure else None
    return render_template(
        "practise/outcome.html", outcome=learnt, figure=figure, wish=_wish(request.args)
    )


@practise.get("/items/<token>/picture")
@login_required
def picture(token: str) -> Response:
    """Send the item's picture under an address that does not name it."""
    shown = _open(token)
    name = f"picture{Path(shown.picture).suffix}"
    return send_file(BytesIO(_picture(shown)), download_name=name, conditional=False)


@practise.get("/history")
@login_required
def history() -> str:
    topic, page = request.args.get("topic") or None, page_in(request.args)
    entries = service.history(house(), actor(), topic=topic, page=page, now=now())
    return render_template("practise/history.html", history=entries, topics=TOPICS)


def _wish(fields: Mapping[str, str]) -> Wish:
    """Return what was wished for: a topic, an engine sheet, or None for any."""
    return {name: fields.get(name) or None for name in ("topic", "sheet")}


def _open(token: str) -> OpenItem:
    return service.open_offer(house(), actor(), token, now=now())


def _to(page: str, token: str, wish: Wish) -> Response:
    return redirect(url_for(page, token=token, topic=wish["topic"], sheet=wish["sheet"]))


def _to_outcome(token: str) -> Response:
    return _to("practise.outcome", token, _wish(request.args))


def _refused(token: str, refusal: InputError) -> Response | tuple[str, int]:
    """Show the item again with what was typed, unless it was answered meanwhile."""
    shown = _open(token)
    return _to_outcome(token) if shown.answered else (_item_page(shown, refusal), 422)


def _item_page(shown: OpenItem, refusal: InputError | None = None) -> str:
    figure = _figure(shown.token, solution=False) if shown.has_figure else None
    bench, halted = _bench(shown)
    return render_template(
        "practise/item.html",
        item=shown,
        shown=bench,
        halted=halted,
        figure=figure and lettered(figure, shown.places),
        letters=_letters(shown),
        refusal=refusal,
        typed=request.form,
        wish=_wish(request.args),
    )


def _bench(item: OpenItem) -> tuple[Shown | None, InputError | None]:
    """Return the bench of an item that has one, as the address says it was left."""
    if item.bench is None:
        return None, None
    sheet, start = bench_in_item(house(), actor(), item.token, now=now())
    return page_of(item_place(sheet, start, item.token, _wish(request.args)), request.args)


def _letters(shown: OpenItem) -> Scene | None:
    if not (shown.picture and shown.places):
        return None
    return letters_over(_picture(shown), shown.places)


def _picture(shown: OpenItem) -> bytes:
    if not shown.picture:
        raise NotFoundError("this item has no picture.", field="picture", value=shown.token)
    return picture_bytes(house(), shown.picture)


def _figure(token: str, *, solution: bool) -> Scene:
    return service.figure(house(), actor(), token, solution=solution, now=now())
