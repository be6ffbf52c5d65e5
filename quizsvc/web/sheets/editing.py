"""What the form's page shows, and what comes of sending it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from flask import flash, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError, NotFoundError, QuizsvcError
from quizsvc.services import edit_sheets, sheet_pages
from quizsvc.services.edit_sheets import Draft, Saved
from quizsvc.services.sheet_check import Checked, Drawing, Said, check_content, drawings_of
from quizsvc.web.access import actor
from quizsvc.web.current import house, now
from quizsvc.web.sheets.laid_out import SECTIONS, SheetForm
from quizsvc.web.sheets.typed import Tree, blank_tree, changed_rows, read, tree_in, tree_of
from quizsvc.web.words import slug

Fields = MultiDict[str, str]
LONGEST = 500
SAVES = {"save": False, "publish": True}
STATUS: dict[type[QuizsvcError], int] = {ConflictError: 409, InputError: 422}


@dataclass(frozen=True, slots=True)
class EditPage:
    """A sheet's form with what stands beside it."""

    form: SheetForm
    checked: Checked
    drawings: tuple[Drawing, ...]
    sheet_id: str  # empty for a new sheet
    based_on: int
    note: str
    drive: int
    opened: frozenset[str]
    refusal: QuizsvcError | None = None

    @property
    def status(self) -> str:
        return status_words(self.checked)

    @property
    def target(self) -> str:
        """Return the id of the element that a refusal is about."""
        field = self.refusal.field if self.refusal else None
        return slug(field) if field else ""


def status_words(checked: Checked) -> str:
    """Return how the check went, in a line."""
    unread = sum(1 for one in checked.said if one.severity not in {"error", "warning"})
    errors = sum(1 for one in checked.said if one.severity == "error")
    warnings = sum(1 for one in checked.said if one.severity == "warning")
    counted = [
        f"{count} {one if count == 1 else many}"
        for count, one, many in (
            (unread, "field to fill in or mend", "fields to fill in or mend"),
            (errors, "error", "errors"),
            (warnings, "warning", "warnings"),
        )
        if count
    ]
    return ", ".join(counted) or "Nothing found"


def blank_page() -> EditPage:
    """Return the form of a new sheet, from nothing or as a copy of another."""
    source = request.args.get("from", "")
    if not source:
        return _page(blank_tree(), quiet=True)
    tree = tree_of(sheet_pages.sheet_page(house(), actor(), source).sheet)
    return _page(tree | {"id": f"{source}-copy"[:60], "title": f"Copy of {tree['title']}"})


def page_of(sheet_id: str) -> EditPage:
    """Return the form of a revision."""
    shown = sheet_pages.sheet_page(
        house(), actor(), sheet_id, revision_in(request.args, "revision")
    )
    return _page(tree_of(shown.sheet), sheet_id=sheet_id, based_on=shown.row.revision)


def sent(sheet_id: str = "") -> Response | tuple[str, int]:
    """Do what the button says: save, publish, check, or put a row in or out."""
    fields = request.form
    tree, doing = tree_in(fields.items()), fields.get("do", "check")
    if doing in SAVES:
        return _saved(fields, tree, sheet_id, publish=SAVES[doing])
    row = "" if doing == "check" else doing.partition(" ")[2]
    changed = changed_rows(tree, doing) if row else tree
    return _answer(fields, changed, sheet_id, opened=row), 200


def live() -> dict[str, object]:
    """Return what the script puts beside the fields: findings, and the figures if they can be."""
    tree = tree_in(request.form.items())
    page = _page(tree, drive=_drive(request.form))
    drawn = render_template("sheets/_figures.html", page=page) if page.checked.sheet else None
    return {
        "status": page.status,
        "findings": render_template("sheets/_findings.html", page=page),
        "figures": drawn,
        "said": [
            {"at": slug(place), "severity": one.severity, "words": _words(one)}
            for place, one in page.form.placed
        ],
    }


def revision_in(fields: Fields, name: str) -> int | None:
    """Return the revision asked for in an address, or None."""
    text = fields.get(name, "")
    if not text:
        return None
    if not re.fullmatch(r"\d{1,6}", text, re.ASCII):
        raise NotFoundError(
            "there is no such revision.",
            field=name,
            value=text[:40],
            remedy="Revisions count from 1.",
        )
    return int(text)


def told(saved: Saved) -> Response:
    """Lead on after a save, and say what became of it."""
    if saved.overtaken_by is not None:
        other = saved.overtaken_by
        flash(
            f"{other.by or 'Somebody'} saved revision {other.revision} while you were working. "
            f"Yours is kept as draft revision {saved.revision}; nothing is lost. Here is what "
            "differs between the two: publish the one that is right, or join them in a new one."
        )
        return redirect(url_for("sheets.difference", sheet_id=saved.sheet_id, old=other.revision,
                                new=saved.revision))  # fmt: skip
    flash(f"Revision {saved.revision} is {saved.state.value}." if saved.state == "published"
          else f"Saved as draft revision {saved.revision}; only instructors see it.")  # fmt: skip
    if saved.revision == 1:
        return redirect(url_for("sheets.sheet", sheet_id=saved.sheet_id, revision=1))
    return redirect(url_for("sheets.difference", sheet_id=saved.sheet_id, new=saved.revision))


def _saved(
    fields: Fields, tree: Tree, sheet_id: str, *, publish: bool
) -> Response | tuple[str, int]:
    understood = read(tree)
    checked = check_content(actor(), understood.content, understood.unread)
    if checked.sheet is None:
        refusal = InputError(
            f"not saved: {status_words(checked)}.",
            remedy="They are marked below; all you typed is still there.",
        )
        return _answer(fields, tree, sheet_id, refusal), 422
    draft = Draft(understood.content, _based_on(fields), fields.get("note", ""), publish)
    try:
        saved = edit_sheets.save(house(), actor(), draft, sheet_id=sheet_id or None, now=now())
    except (InputError, ConflictError) as refusal:
        status = next(STATUS[kind] for kind in type(refusal).__mro__ if kind in STATUS)
        return _answer(fields, tree, sheet_id, refusal), status
    return told(saved)


def _answer(
    fields: Fields,
    tree: Tree,
    sheet_id: str,
    refusal: QuizsvcError | None = None,
    opened: str = "",
) -> str:
    page = _page(
        tree,
        sheet_id=sheet_id,
        based_on=_based_on(fields),
        note=fields.get("note", "")[:LONGEST],
        drive=_drive(fields),
        opened=opened,
        refusal=refusal,
    )
    return render_template("sheets/edit.html", page=page)


def _page(
    tree: Tree,
    *,
    sheet_id: str = "",
    based_on: int = 0,
    note: str = "",
    drive: int = 0,
    opened: str = "",
    refusal: QuizsvcError | None = None,
    quiet: bool = False,
) -> EditPage:
    understood = read(tree)
    checked = check_content(actor(), understood.content, understood.unread)
    form = SheetForm(tree, () if quiet else checked.said)
    drawings = drawings_of(checked.sheet, drive=drive) if checked.sheet else ()
    named = {re.split(r"[.\[ ]", opened)[0]} if opened else {"title"}
    named |= {re.split(r"[.\[]", place)[0] for place, one in form.placed if one.hinders}
    shown = frozenset(name for name, _, parts in SECTIONS if named & set(parts))
    return EditPage(
        form, Checked(checked.sheet, () if quiet else checked.said), drawings, sheet_id, based_on,
        note, drive, shown, refusal,
    )  # fmt: skip


def _words(one: Said) -> str:
    value = f"“{one.value}”: " if one.value else ""
    message = one.message[:1].upper() + one.message[1:] if not value else one.message
    return f"{value}{message} {one.remedy}".strip()


def _based_on(fields: Fields) -> int:
    return revision_in(fields, "based_on") or 0


def _drive(fields: Fields) -> int:
    text = fields.get("show", "0")
    return int(text) if re.fullmatch(r"\d{1,2}", text, re.ASCII) else 0
