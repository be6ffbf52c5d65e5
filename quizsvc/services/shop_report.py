"""The readiness matrix as a table for spreadsheets."""

from __future__ import annotations

from datetime import datetime

from quizsvc.interchange.spreadsheets import Sheet, csv_text, xlsx_bytes
from quizsvc.rules.actors import Actor
from quizsvc.rules.readiness import ReadyState
from quizsvc.services.house import House
from quizsvc.services.readiness import Cell, MatrixPage, Wanted, read_matrix

ABOUT = "Computed when read; practice and evidence, never a substitute for a hands-on sign-off."


def matrix_csv(house: House, actor: Actor, wanted: Wanted, *, now: datetime) -> str:
    return csv_text(_matrix_sheet(read_matrix(house, actor, wanted, now=now), now))


def matrix_xlsx(house: House, actor: Actor, wanted: Wanted, *, now: datetime) -> bytes:
    """Return a workbook: the matrix, and how many people are in which state per job."""
    page = read_matrix(house, actor, wanted, now=now)
    return xlsx_bytes((_matrix_sheet(page, now), _counts_sheet(page)))


def _matrix_sheet(page: MatrixPage, now: datetime) -> Sheet:
    said = [_said(cell) for cell in page.cells]
    return Sheet(
        "Readiness",
        ("Name", "Shift", *(job.title for job in page.jobs)),
        [
            (row.member.name, row.member.shift, *(said[place] for place in row.cells))
            for row in page.rows
        ],
        above=(f"Readiness on {page.on.isoformat()}, computed {now:%Y-%m-%d %H:%M} UTC", ABOUT),
    )


def _counts_sheet(page: MatrixPage) -> Sheet:
    rows = [(job.title, *(str(count) for _, count in job.counts)) for job in page.jobs]
    return Sheet("People per job", ("Job", *(state.value for state in ReadyState)), rows)


def _said(cell: Cell) -> str:
    return f"{cell.state.value}: {cell.words}" if cell.words else cell.state.value
