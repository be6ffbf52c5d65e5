"""Sheets in and out as TOML files."""

from __future__ import annotations

from flask import Response, render_template, request
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import ConflictError, InputError, QuizsvcError
from quizsvc.rules.permissions import May, require
from quizsvc.services import edit_sheets, sheet_pages
from quizsvc.sheets.loading import LARGEST_FILE_BYTES
from quizsvc.sheets.problems import Problem, SheetError
from quizsvc.web.access import actor
from quizsvc.web.current import house, now
from quizsvc.web.sheets.editing import revision_in, told


def page(text: str = "", note: str = "", refusal: QuizsvcError | None = None) -> str:
    """Return the page for sending a file, with what was sent before if it was refused."""
    require(actor(), May.WRITE_SHEETS)
    problems: tuple[Problem, ...] = refusal.problems if isinstance(refusal, SheetError) else ()
    return render_template(
        "sheets/upload.html", text=text, note=note, refusal=refusal, problems=problems
    )


def sent() -> BaseResponse | tuple[str, int]:
    """Store what was sent, or show it again with all that is wrong with it."""
    note, text = request.form.get("note", ""), request.form.get("text", "")
    publish = request.form.get("do") == "publish"
    try:
        text = _file_text() or text
        saved = edit_sheets.save_file(house(), actor(), text, note=note, publish=publish, now=now())
    except (InputError, ConflictError) as refusal:
        return page(text, note, refusal), 409 if isinstance(refusal, ConflictError) else 422
    return told(saved)


def download(sheet_id: str) -> Response:
    """Return a revision's text as a file."""
    shown = sheet_pages.sheet_page(
        house(), actor(), sheet_id, revision_in(request.args, "revision")
    )
    text = sheet_pages.sheet_text(house(), actor(), sheet_id, shown.row.revision)
    name = f"{sheet_id}-revision-{shown.row.revision}.toml"
    return Response(
        text,
        mimetype="application/toml",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def _file_text() -> str:
    """Return the text of the file sent, "" if none was."""
    sent_file = request.files.get("file")
    content = sent_file.read(LARGEST_FILE_BYTES + 1) if sent_file else b""
    if len(content) > LARGEST_FILE_BYTES:
        raise InputError(
            f"the file is larger than {LARGEST_FILE_BYTES} bytes.",
            field="file",
            value=(sent_file.filename or "")[:60] if sent_file else "",
            remedy="A sheet is far smaller; is this the right file?",
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError(
            f"the file is not UTF-8 text (byte {fault.start}).",
            field="file",
            value=(sent_file.filename or "")[:60] if sent_file else "",
            remedy="Save it as UTF-8 and send it again.",
        ) from None
