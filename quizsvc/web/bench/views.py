"""The timing bench: choose an engine, turn it, slip its chains; for people and for the script."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request
from werkzeug.wrappers import Response

from quizsvc.services import bench as service
from quizsvc.services import bench_motion
from quizsvc.web.access import actor, login_required
from quizsvc.web.bench.forms import asked_in, asked_in_item
from quizsvc.web.bench.showing import Place, free_place, item_place, page_of, state_for_script
from quizsvc.web.current import house, now

bench = Blueprint("bench", __name__, url_prefix="/bench")


@bench.get("/")
@login_required
def engines() -> str:
    found = service.engines(house(), actor(), now=now())
    return render_template("bench/engines.html", engines=found)


@bench.get("/<sheet_id>")
@login_required
def engine(sheet_id: str) -> str | Response | tuple[str, int]:
    """Show the bench; after a deed lead on to the address of the state reached."""
    place = _free(sheet_id)
    shown, halted = page_of(place, request.args)
    if "do" in request.args and halted is None:
        return redirect(place.page(shown))
    page = render_template("bench/bench.html", shown=shown, halted=halted)
    return page, 422 if halted else 200


@bench.get("/<sheet_id>/state")
@login_required
def state(sheet_id: str) -> dict[str, object] | tuple[dict[str, object], int]:
    place = _free(sheet_id)
    return state_for_script(place, lambda: asked_in(request.args, place.start))


@bench.get("/<sheet_id>/motion")
@login_required
def motion(sheet_id: str) -> dict[str, object]:
    place = _free(sheet_id)
    asked = place.done(asked_in(request.args, place.start))
    return bench_motion.motion_for_page(place.sheet, asked.state.setting)


@bench.get("/items/<token>/state")
@login_required
def item_state(token: str) -> dict[str, object] | tuple[dict[str, object], int]:
    sheet, start = service.bench_in_item(house(), actor(), token, now=now())
    place = item_place(sheet, start, token, {})
    return state_for_script(place, lambda: asked_in_item(request.args, start))


@bench.get("/items/<token>/motion")
@login_required
def item_motion(token: str) -> dict[str, object]:
    sheet, start = service.bench_in_item(house(), actor(), token, now=now())
    asked = item_place(sheet, start, token, {}).done(asked_in_item(request.args, start))
    return bench_motion.motion_for_page(sheet, asked.state.setting)


def _free(sheet_id: str) -> Place:
    return free_place(service.sheet_on_bench(house(), actor(), sheet_id))
