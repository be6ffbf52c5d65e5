"""Keep engine sheets: every revision whole, so that an item can be drawn again years later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.sheets.loading import load_sheet
from quizsvc.store import sheets
from quizsvc.store.sheets import NewRevision


@dataclass(frozen=True, slots=True)
class StoredSheet:
    """What became of a sheet: stored now, there already word for word, or held back.

    ``held_back``: an instructor published a revision of their own that this one would replace.
    """

    sheet_id: str
    revision: int
    new: bool
    held_back: bool = False


def store_sheet(house: House, actor: Actor, toml: str, *, now: datetime) -> StoredSheet:
    """Store and publish a sheet for the actor's shop.

    Raises:
        InputError: the text is no sound sheet.
        ConflictError: this revision is stored with another content.
    """
    require(actor, May.WRITE_SHEETS)
    with house.write() as connection:
        return keep_sheet(connection, actor, toml, shop_id=actor.shop_id, now=now)


def keep_shipped_sheets(
    connection: Connection, folder: Path, *, now: datetime
) -> tuple[StoredSheet, ...]:
    """Store the sheets of a folder for all shops; done again, it changes nothing.

    Where people of a shop have published revisions of their own of a shipped sheet, theirs stand:
    no shipped revision is stored beside or above them, since practice would go over to it. What
    is held back so is told, and can be taken over by hand as the next revision.
    """
    return tuple(
        _keep_shipped(connection, path.read_text(encoding="utf-8"), now=now)
        for path in sorted(folder.glob("*.toml"))
    )


def _keep_shipped(connection: Connection, toml: str, *, now: datetime) -> StoredSheet:
    new = new_revision(toml)
    known = sheets.find_revision(connection, new.sheet_id, new.revision)
    same = known is not None and known.content_hash == new.content_hash
    if not same and sheets.stored_by_people(connection, new.sheet_id):
        return StoredSheet(new.sheet_id, new.revision, new=False, held_back=True)
    return keep_sheet(connection, None, toml, shop_id=None, now=now)


def keep_sheet(
    connection: Connection, actor: Actor | None, toml: str, *, shop_id: int | None, now: datetime
) -> StoredSheet:
    new = new_revision(toml)
    known = sheets.find_revision(connection, new.sheet_id, new.revision)
    if known is not None and known.content_hash == new.content_hash:
        return StoredSheet(new.sheet_id, new.revision, new=False)
    if known is not None:
        raise ConflictError(
            f"revision {new.revision} of {new.sheet_id} is stored with another content.",
            field="revision",
            value=new.revision,
            remedy=f"Give the changed sheet revision {new.revision + 1} and a note.",
        )
    by = actor.person_id if actor else None
    sheets.add_revision(connection, new, shop_id=shop_id, by=by, now=now)
    note(
        connection,
        actor,
        Action.SHEET_STORED,
        f"sheet {new.sheet_id} revision {new.revision}",
        now=now,
        shop_id=shop_id,
        hash=new.content_hash,
    )
    return StoredSheet(new.sheet_id, new.revision, new=True)


def new_revision(toml: str) -> NewRevision:
    """Return what is stored of a TOML text, once it is read as a sound sheet."""
    sheet = load_sheet(toml)
    return NewRevision(
        sheet_id=sheet.id,
        revision=sheet.revision,
        title=sheet.title,
        toml=toml,
        content_hash=sha256(toml.encode()).hexdigest(),
        note=sheet.note,
        invented=sheet.invented,
        built_from=sheet.built_from,
        built_to=sheet.built_to,
    )
