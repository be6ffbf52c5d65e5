"""Engine sheets to look at: the list, a revision with all that follows from it, its text."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, may_change_sheet, require
from quizsvc.services.house import House
from quizsvc.services.sheet_check import Said, findings_of
from quizsvc.sheets.computed import Computed, computed_values
from quizsvc.sheets.schema import EngineSheet
from quizsvc.store import people, sheets
from quizsvc.store.sheets import RevisionRow, RevisionState


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A sheet in the list: its newest published revision and its newest draft, if newer."""

    sheet_id: str
    title: str
    invented: bool
    shared: bool
    published: RevisionRow | None
    draft: RevisionRow | None

    @property
    def newest(self) -> RevisionRow:
        return self.draft or self.published  # type: ignore[return-value]  # one of them is there


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A revision of a sheet with all that follows from it."""

    sheet: EngineSheet
    row: RevisionRow
    revisions: tuple[RevisionRow, ...]  # newest first
    said: tuple[Said, ...]
    computed: tuple[Computed, ...]
    may_change: bool
    in_use: bool  # the newest published one: questions are drawn from it

    @property
    def overtaken(self) -> bool:
        """Return whether a later revision has been published since."""
        return any(
            row.revision > self.row.revision and row.state is RevisionState.PUBLISHED
            for row in self.revisions
        )

    @property
    def before(self) -> RevisionRow | None:
        """Return the revision just before this one."""
        earlier = (row for row in self.revisions if row.revision < self.row.revision)
        return next(earlier, None)


def sheets_listed(house: House, actor: Actor) -> tuple[SheetLine, ...]:
    """Return the sheets the actor's shop may see, by title."""
    require(actor, May.WRITE_SHEETS)
    with house.read() as connection:
        rows = sheets.revisions_for(connection, actor.shop_id)
    lines = [_line(list(group)) for _, group in groupby(rows, key=lambda row: row.sheet_id)]
    return tuple(sorted(lines, key=lambda line: line.title.casefold()))


def sheet_page(house: House, actor: Actor, sheet_id: str, revision: int | None = None) -> SheetPage:
    """Return a revision, or the newest published one, or the newest of all if none is.

    Raises:
        NotFoundError: no such sheet or revision for this shop.
    """
    require(actor, May.WRITE_SHEETS)
    with house.read() as connection:
        rows = revision_rows(connection, actor, sheet_id)
        row = row_of(rows, revision)
        sheet = house.shelf.sheet(connection, row.id)
        allowed = may_change(connection, actor, row.shop_id)
    current = published_of(rows)
    return SheetPage(
        sheet=sheet,
        row=row,
        revisions=rows,
        said=findings_of(sheet),
        computed=computed_values(sheet),
        may_change=allowed,
        in_use=current is not None and current.revision == row.revision,
    )


def sheet_text(house: House, actor: Actor, sheet_id: str, revision: int) -> str:
    """Return a revision as the TOML text that is stored, comments and all."""
    require(actor, May.WRITE_SHEETS)
    with house.read() as connection:
        row = row_of(revision_rows(connection, actor, sheet_id), revision)
        return sheets.toml_of(connection, row.id)


def revision_rows(connection: Connection, actor: Actor, sheet_id: str) -> tuple[RevisionRow, ...]:
    """Return the revisions of a sheet that the actor's shop may see, newest first."""
    rows = sheets.revisions_for(connection, actor.shop_id, sheet_id)
    if not rows:
        raise NotFoundError(
            "there is no such engine sheet for you.",
            field="sheet",
            value=sheet_id[:60],
            remedy="Choose one from the list.",
        )
    return rows


def row_of(rows: tuple[RevisionRow, ...], revision: int | None) -> RevisionRow:
    """Return one of the revisions; by default the published one, or the newest if none is."""
    if revision is None:
        return published_of(rows) or rows[0]
    for row in rows:
        if row.revision == revision:
            return row
    raise NotFoundError(
        f"{rows[0].sheet_id} has no such revision.",
        field="revision",
        value=revision,
        remedy=f"There are revisions up to {rows[0].revision}.",
    )


def published_of(rows: tuple[RevisionRow, ...] | list[RevisionRow]) -> RevisionRow | None:
    """Return the newest published revision, None if there is none."""
    return next((row for row in rows if row.state is RevisionState.PUBLISHED), None)


def may_change(connection: Connection, actor: Actor, shop_id: int | None) -> bool:
    """Return whether the actor may store revisions of a sheet of this shop, or of a shared one."""
    only_shop = len(people.all_shops(connection)) == 1
    return may_change_sheet(actor, shop_id, only_shop=only_shop)


def _line(rows: list[RevisionRow]) -> SheetLine:
    published, newest = published_of(rows), rows[0]
    return SheetLine(
        newest.sheet_id,
        (published or newest).title,
        (published or newest).invented,
        newest.shop_id is None,
        published,
        newest if newest.state is RevisionState.DRAFT else None,
    )
