"""Read photographs of answer sheets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError, QuizsvcError
from quizsvc.items.model import Kind
from quizsvc.paper.reading import FoundSheet, find_sheet, read_marks
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.services.on_paper.printed_items import items_shown, options_of, printed_by
from quizsvc.services.on_paper.sheet_marks import find_copy, marks_read, marks_text, state_of
from quizsvc.store import printed_tests
from quizsvc.store.printed_tests import SheetState, StoredCopy, StoredTest

TOKEN_BYTES = 16
MOST_PICTURES = 40  # at once


@dataclass(frozen=True, slots=True)
class PictureRead:
    """What came of one picture; ``test_id`` and ``copy`` where the sheet was known."""

    name: str
    well: bool
    says: str
    test_id: int | None = None
    copy: int | None = None


def read_pictures(
    house: House, actor: Actor, pictures: Iterable[tuple[str, bytes]], *, now: datetime
) -> tuple[PictureRead, ...]:
    """Read pictures of answer sheets; each tells what came of it, one bad one stops none.

    Raises:
        NotAllowedError: the actor gives out no tests.
        InputError: no picture, or too many at once.
    """
    require(actor, May.ASSIGN)
    pictures = tuple(pictures)
    if not 1 <= len(pictures) <= MOST_PICTURES:
        raise InputError(
            f"send 1 to {MOST_PICTURES} pictures at once.",
            field="pictures",
            value=len(pictures),
            remedy="Send the rest afterwards.",
        )
    return tuple(_read_one(house, actor, name, content, now) for name, content in pictures)


def _read_one(house: House, actor: Actor, name: str, content: bytes, now: datetime) -> PictureRead:
    try:
        found = find_sheet(content)
        return _keep_reading(house, actor, name, found, now)
    except QuizsvcError as refusal:
        return PictureRead(name, well=False, says=f"{refusal.problem} {refusal.remedy or ''}")


def _keep_reading(
    house: House, actor: Actor, name: str, found: FoundSheet, now: datetime
) -> PictureRead:
    with house.read() as connection:
        test = _test_of(connection, actor, found)
        stored = find_copy(connection, test.id, found.code.copy)
        items = items_shown(connection, test.id, stored.variant)
    several = frozenset(one.number for one, item in items if item.kind is Kind.SEVERAL_CHOICES)
    read = read_marks(found, options_of(items), several)
    marks = marks_read(read)
    with house.write() as connection:
        stored = find_copy(connection, test.id, found.code.copy, lock=True)
        if stored.state is SheetState.COUNTED:
            return _again(name, test, stored)
        state = state_of(marks)
        printed_tests.change_copy(
            connection,
            test.id,
            stored.copy,
            state=state.value,
            answers=marks_text(marks),
            straightened=read.straightened,
            read_at=now,
        )
    doubts = sum(mark.open for mark in marks.values())
    says = f"{doubts} marks to decide." if doubts else "Every mark is clear."
    return PictureRead(name, True, f"{stored.name}: {says}", test.id, stored.copy)


def _again(name: str, test: StoredTest, stored: StoredCopy) -> PictureRead:
    says = f"{stored.name}: this sheet counts already; nothing was changed."
    return PictureRead(name, True, says, test.id, stored.copy)


def _test_of(connection: Connection, actor: Actor, found: FoundSheet) -> StoredTest:
    test = printed_tests.test_of_paper(connection, found.code.paper)
    if test is None:
        raise NotFoundError(
            "no test of this code was printed here.",
            field="code",
            value=found.code.paper[:8],
            remedy="Send it to the shop that printed it.",
        )
    return printed_by(connection, actor, test.id)
