"""What the page of the difference of two revisions shows."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from flask import request

from quizsvc.services import sheet_changes, sheet_pages
from quizsvc.services.sheet_changes import Comparison
from quizsvc.services.sheet_pages import SheetPage
from quizsvc.sheets.difference import Difference
from quizsvc.web.access import actor
from quizsvc.web.current import house
from quizsvc.web.sheets.editing import revision_in


@dataclass(frozen=True, slots=True)
class Shown:
    page: SheetPage  # of the newer revision
    between: Comparison
    sections: tuple[tuple[str, tuple[Difference, ...]], ...]


def shown(sheet_id: str) -> Shown:
    """Compare the revisions in the address; left out, the newest with the one before it."""
    page = sheet_pages.sheet_page(house(), actor(), sheet_id, revision_in(request.args, "new"))
    before = page.before.revision if page.before else page.row.revision
    old = revision_in(request.args, "old") or before
    between = sheet_changes.compare(house(), actor(), sheet_id, old, page.row.revision)
    by_section = groupby(between.differences, key=lambda one: one.section)
    return Shown(page, between, tuple((name, tuple(rows)) for name, rows in by_section))
