"""What the page of a sheet's revision shows."""

from __future__ import annotations

from dataclasses import dataclass

from flask import request
from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.services import sheet_pages
from quizsvc.services.sheet_check import Drawing, all_drawings_of
from quizsvc.services.sheet_pages import SheetPage
from quizsvc.web.access import actor
from quizsvc.web.current import house
from quizsvc.web.sheets.editing import revision_in
from quizsvc.web.sheets.laid_out import SheetForm
from quizsvc.web.sheets.typed import tree_of


@dataclass(frozen=True, slots=True)
class Shown:
    page: SheetPage
    form: SheetForm
    drawings: tuple[Drawing, ...]


def shown(sheet_id: str) -> Shown:
    """Return the revision asked for in the address, or the one in use."""
    revision = revision_in(request.args, "revision")
    page = sheet_pages.sheet_page(house(), actor(), sheet_id, revision)
    form = SheetForm(tree_of(page.sheet), page.said)
    return Shown(page, form, all_drawings_of(page.sheet))


def revision_sent(fields: MultiDict[str, str]) -> int:
    """Return the revision named in a form.

    Raises:
        InputError: none is named.
    """
    revision = revision_in(fields, "revision")
    if revision is None:
        raise InputError(
            "no revision is named.",
            field="revision",
            value="",
            remedy="Use the buttons of the sheet's page.",
        )
    return revision
