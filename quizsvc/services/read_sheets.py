"""Read engine sheets: what is in use, what changed since somebody read it, and saying so."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.errors import ConflictError, NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.sheets.difference import Difference, differences
from quizsvc.sheets.schema import EngineSheet
from quizsvc.store import read_revisions, sheets
from quizsvc.store.sheets import RevisionRow, RevisionState


@dataclass(frozen=True, slots=True)
class SheetToRead:
    """The revision in use, and what differs from the one the reader read before."""

    row: RevisionRow
    sheet: EngineSheet
    read: int  # newest revision read, 0 for none
    differences: tuple[Difference, ...]

    @property
    def is_read(self) -> bool:
        return self.read >= self.row.revision


def read_sheet(house: House, actor: Actor, sheet_id: str) -> SheetToRead:
    """Return the newest published revision of a sheet as the actor has to read it."""
    require(actor, May.SEE_OWN_RECORD)
    with house.read() as connection:
        rows = [
            row
            for row in sheets.revisions_for(connection, actor.shop_id, sheet_id)
            if row.state is RevisionState.PUBLISHED
        ]
        if not rows:
            raise NotFoundError(
                "there is no such engine sheet here.",
                field="engine sheet",
                value=sheet_id[:80],
                remedy="Go to your record.",
            )
        newest = house.shelf.sheet(connection, rows[0].id)
        read = read_revisions.read_by(connection, actor.person_id).get(sheet_id, 0)
        before = next((row for row in rows[1:] if row.revision == read), None)
        old = house.shelf.sheet(connection, before.id) if before else None
    return SheetToRead(rows[0], newest, read, differences(old, newest) if old else ())


def say_read(house: House, actor: Actor, sheet_id: str, revision: int, *, now: datetime) -> None:
    """Note that the actor says they read the revision.

    Raises:
        ConflictError: a later one has come meanwhile.
    """
    page = read_sheet(house, actor, sheet_id)
    if page.row.revision != revision:
        raise ConflictError(
            "a later revision has come meanwhile.",
            field="revision",
            value=revision,
            remedy=f"Read revision {page.row.revision}.",
        )
    with house.write() as connection:
        read_revisions.mark_read(connection, actor.person_id, page.row.id, now=now)
