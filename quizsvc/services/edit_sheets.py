"""Engine sheets in an instructor's hands: save a revision, publish it, go back.

Every save is a new revision; none is ever overwritten. A revision is a draft (seen by instructors
only) or published (questions are drawn from the newest published one). Going back means that an
earlier revision is published again as a new one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.services.auditing import note as note_in_log
from quizsvc.services.house import House
from quizsvc.services.sheet_check import findings_of
from quizsvc.services.sheet_pages import may_change, published_of, revision_rows, row_of
from quizsvc.services.sheets import new_revision
from quizsvc.sheets.loading import parse_sheet, sheet_from
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.writing import rewritten, sheet_toml
from quizsvc.store import sheets
from quizsvc.store.sheets import RevisionRow, RevisionState

LONGEST_NOTE = 500


@dataclass(frozen=True, slots=True)
class Draft:
    """What somebody wants to save: values as in a TOML text, and what they began from."""

    content: Mapping[str, Any]
    based_on: int = 0  # the revision the form was opened with; 0 for a new sheet
    note: str = ""
    publish: bool = False
    text: str = ""  # where a file was sent: its text, so that its comments stay


@dataclass(frozen=True, slots=True)
class Saved:
    sheet_id: str
    revision: int
    state: RevisionState
    overtaken_by: RevisionRow | None = None  # somebody saved this meanwhile


def save(
    house: House, actor: Actor, draft: Draft, *, sheet_id: str | None = None, now: datetime
) -> Saved:
    """Store what was written as a new revision of ``sheet_id``, or as a new sheet if None.

    Where somebody saved another revision meanwhile, this one is kept as a draft whatever was
    wished, and `Saved.overtaken_by` names the other.

    Raises:
        SheetError: it is no sheet.
        InputError: the note is missing, nothing was changed, or errors hinder publishing.
        ConflictError: the id of a new sheet is taken.
    """
    require(actor, May.WRITE_SHEETS)
    stated = sheet_from({**draft.content, "revision": 1, "note": _one_line(draft.note)})
    if draft.publish:
        _no_errors(stated)
    with house.write() as connection:
        rows = _open_for_saving(connection, actor, stated, sheet_id)
        if rows:
            _something_new(house, connection, rows, draft, stated)
        others = [row for row in rows if row.revision > draft.based_on]
        state = RevisionState.PUBLISHED if draft.publish and not others else RevisionState.DRAFT
        number = rows[0].revision + 1 if rows else 1
        sheet = stated.model_copy(update={"revision": number})
        text = _text(connection, draft, sheet, rows)
        _store(connection, actor, text, rows[0].shop_id if rows else actor.shop_id, state, now)
    return Saved(sheet.id, number, state, others[0] if others else None)


def save_file(
    house: House, actor: Actor, text: str, *, note: str = "", publish: bool = False, now: datetime
) -> Saved:
    """Store a TOML text as a new revision of the sheet it names, or as a new sheet.

    The text's own revision says what it began from; its own note counts where none is given.

    Raises:
        SheetError: it is no TOML (line and column in words) or no sheet (each field's line).
    """
    require(actor, May.WRITE_SHEETS)
    stated = parse_sheet(text)
    with house.read() as connection:
        rows = sheets.revisions_for(connection, actor.shop_id, stated.id)
    based_on = min(stated.revision, rows[0].revision) if rows else 0
    known = {row.note for row in rows}
    words = note or ("" if stated.note in known else stated.note)
    draft = Draft(stated.model_dump(), based_on, words, publish, text)
    return save(house, actor, draft, sheet_id=stated.id if rows else None, now=now)


def publish(
    house: House, actor: Actor, sheet_id: str, revision: int, *, note: str = "", now: datetime
) -> Saved:
    """Publish a draft; a revision that others overtook is published again as a new one.

    Raises:
        InputError: the check finds errors, or an earlier revision is to come back without a note.
        ConflictError: it is the published one already.
    """
    require(actor, May.WRITE_SHEETS)
    with house.write() as connection:
        sheets.lock_sheet(connection, sheet_id)
        rows = revision_rows(connection, actor, sheet_id)
        _require_change(connection, actor, rows[0])
        row = row_of(rows, revision)
        sheet = house.shelf.sheet(connection, row.id)
        _no_errors(sheet)
        current = published_of(rows)
        if current is None or current.revision < row.revision:
            sheets.publish_revision(connection, row.id)
            _log(connection, actor, row.sheet_id, row.revision, RevisionState.PUBLISHED, now)
            return Saved(sheet_id, row.revision, RevisionState.PUBLISHED)
        if current.revision == row.revision:
            raise ConflictError("this revision is the published one already.")
        return _again(connection, actor, rows, row, sheet, note, now)


def _again(
    connection: Connection,
    actor: Actor,
    rows: tuple[RevisionRow, ...],
    row: RevisionRow,
    sheet: EngineSheet,
    note: str,
    now: datetime,
) -> Saved:
    """Publish an earlier revision again as a new one; nothing in between is lost."""
    number = rows[0].revision + 1
    words = f"Revision {row.revision} again: {_noted(note, number)}"
    text = rewritten(
        sheets.toml_of(connection, row.id),
        sheet.model_copy(update={"revision": number, "note": words}),
    )
    _store(connection, actor, text, row.shop_id, RevisionState.PUBLISHED, now)
    return Saved(row.sheet_id, number, RevisionState.PUBLISHED)


def _open_for_saving(
    connection: Connection, actor: Actor, stated: EngineSheet, sheet_id: str | None
) -> tuple[RevisionRow, ...]:
    """Return the revisions there are, none for a new sheet, and make others wait."""
    exists = sheets.lock_sheet(connection, sheet_id or stated.id)
    if sheet_id is None:
        if exists:
            raise ConflictError(
                "this id belongs to another engine sheet.",
                field="id",
                value=stated.id,
                remedy="Give the new sheet an id of its own.",
            )
        return ()
    if stated.id != sheet_id:
        raise InputError(
            f"this is the sheet of another engine, not of {sheet_id}.",
            field="id",
            value=stated.id,
            remedy="Open that engine's sheet, or save this as a new sheet.",
        )
    rows = revision_rows(connection, actor, sheet_id)
    _require_change(connection, actor, rows[0])
    return rows


def _something_new(
    house: House,
    connection: Connection,
    rows: tuple[RevisionRow, ...],
    draft: Draft,
    stated: EngineSheet,
) -> None:
    base = row_of(rows, draft.based_on or None)
    before = house.shelf.sheet(connection, base.id)
    aside = {"revision": before.revision, "note": before.note}
    if stated.model_copy(update=aside) == before:
        raise InputError(
            f"nothing differs from revision {base.revision}.",
            field="revision",
            value=base.revision,
            remedy="Change something, or publish that revision itself.",
        )
    _noted(draft.note, rows[0].revision + 1)


def _noted(note: str, number: int) -> str:
    if not note.strip():
        raise InputError(
            f"revision {number} needs a note.",
            field="note",
            value="",
            remedy="Say in a sentence what changed and why; others will rely on it.",
        )
    return _one_line(note)


def _one_line(note: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in note[:LONGEST_NOTE]).split())


def _no_errors(sheet: EngineSheet) -> None:
    errors = [one for one in findings_of(sheet) if one.hinders]
    if errors:
        raise InputError(
            f"the check finds {len(errors)} error{'s' if len(errors) > 1 else ''}, first: "
            f"{errors[0].message}",
            field=errors[0].field,
            value=errors[0].value,
            remedy=f"{errors[0].remedy} Or save it as a draft for now.",
        )


def _text(
    connection: Connection, draft: Draft, sheet: EngineSheet, rows: tuple[RevisionRow, ...]
) -> str:
    if draft.text:
        return rewritten(draft.text, sheet)
    if not rows:
        return sheet_toml(sheet)
    base = row_of(rows, draft.based_on or None)
    return rewritten(sheets.toml_of(connection, base.id), sheet)


def _store(
    connection: Connection,
    actor: Actor,
    text: str,
    shop_id: int | None,
    state: RevisionState,
    now: datetime,
) -> None:
    new = new_revision(text)
    sheets.add_revision(connection, new, shop_id=shop_id, by=actor.person_id, now=now, state=state)
    _log(connection, actor, new.sheet_id, new.revision, state, now, new.content_hash)


def _log(
    connection: Connection,
    actor: Actor,
    sheet_id: str,
    revision: int,
    state: RevisionState,
    now: datetime,
    content_hash: str = "",
) -> None:
    subject = f"sheet {sheet_id} revision {revision}"
    note_in_log(
        connection,
        actor,
        Action.SHEET_STORED,
        subject,
        now=now,
        state=state.value,
        hash=content_hash,
    )


def _require_change(connection: Connection, actor: Actor, row: RevisionRow) -> None:
    if not may_change(connection, actor, row.shop_id):
        raise NotAllowedError(
            "this sheet is shared by several shops and cannot be changed by one.",
            remedy="Make a copy of it for your shop and change that.",
        )
