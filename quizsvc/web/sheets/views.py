"""Engine sheets for instructors: list, look, change, compare, and in and out as TOML."""

from __future__ import annotations

from flask import Blueprint, Response, render_template, request
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.services import edit_sheets, sheet_pages
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.sheets import comparing, editing, files, looking

sheets = Blueprint("sheets", __name__, url_prefix="/sheets")
Answer = BaseResponse | tuple[str, int]


@sheets.get("/")
@login_required
def listed() -> str:
    lines = sheet_pages.sheets_listed(house(), actor())
    return render_template("sheets/list.html", lines=lines)


@sheets.get("/new")
@login_required
def new() -> str:
    return render_template("sheets/edit.html", page=editing.blank_page())


@sheets.post("/new")
@login_required
def send_new() -> Answer:
    return editing.sent()


@sheets.post("/check")
@login_required
def check() -> dict[str, object]:
    return editing.live()


@sheets.get("/upload")
@login_required
def upload() -> str:
    return files.page()


@sheets.post("/upload")
@login_required
def send_file() -> Answer:
    return files.sent()


@sheets.get("/<sheet_id>")
@login_required
def sheet(sheet_id: str) -> str:
    return render_template("sheets/sheet.html", shown=looking.shown(sheet_id))


@sheets.get("/<sheet_id>/edit")
@login_required
def edit(sheet_id: str) -> str:
    return render_template("sheets/edit.html", page=editing.page_of(sheet_id))


@sheets.post("/<sheet_id>/edit")
@login_required
def send(sheet_id: str) -> Answer:
    return editing.sent(sheet_id)


@sheets.get("/<sheet_id>/difference")
@login_required
def difference(sheet_id: str) -> str:
    return render_template("sheets/difference.html", shown=comparing.shown(sheet_id))


@sheets.post("/<sheet_id>/publish")
@login_required
def publish(sheet_id: str) -> BaseResponse:
    revision, note = looking.revision_sent(request.form), request.form.get("note", "")
    saved = edit_sheets.publish(house(), actor(), sheet_id, revision, note=note, now=now())
    return editing.told(saved)


@sheets.get("/<sheet_id>/toml")
@login_required
def toml(sheet_id: str) -> Response:
    return files.download(sheet_id)
