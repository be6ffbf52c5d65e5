"""The rows of the matrix as HTML: each different cell once, then put together row by row.

A macro per cell takes thirty times as long; a page of the whole shop has 80,000 cells.
"""

from __future__ import annotations

from dataclasses import dataclass

from flask import url_for
from markupsafe import Markup, escape

from quizsvc.rules.readiness import ReadyState
from quizsvc.services.readiness import Cell, MatrixPage

_LOOK = {
    ReadyState.READY: "ready",
    ReadyState.NEARLY: "nearly",
    ReadyState.NOT: "not",
    ReadyState.OUT_OF_DATE: "dated",
}
_SOMEBODY = 987654321  # stands in the address, to be replaced by each person's number


@dataclass(frozen=True, slots=True)
class Filled:
    """The page with its rows as HTML."""

    page: MatrixPage
    rows: Markup


def fill(page: MatrixPage) -> Filled:
    """Return the page with its rows put together."""
    cells = [_cell(cell) for cell in page.cells]
    before, after = url_for("shop.person", person_id=_SOMEBODY).split(str(_SOMEBODY))
    rows = "".join(
        f'<tr><th scope="row"><a class="reach" href="{before}{row.member.id}{after}">'
        f"{escape(row.member.name)}</a></th>"
        f'<td class="matrix__shift">{escape(row.member.shift or "–")}</td>'
        f"{''.join([cells[place] for place in row.cells])}</tr>\n"
        for row in page.rows
    )
    return Filled(page, Markup(rows))  # noqa: S704 - every word in it was escaped


def _cell(cell: Cell) -> str:
    words = f'<span class="state__why">{escape(cell.words)}</span>' if cell.words else ""
    look = _LOOK[cell.state]
    return f'<td><span class="state state--{look}">{escape(cell.state.value)}</span>{words}</td>'


def look_of(state: ReadyState) -> str:
    return _LOOK[state]
