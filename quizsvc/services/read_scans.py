"""Read photographs of answer sheets, let a person decide doubtful marks, count each sheet once."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError, QuizsvcError
from quizsvc.items.model import Item, Kind
from quizsvc.paper.answer_sheet import LETTERS
from quizsvc.paper.cut_out import cut_out
from quizsvc.paper.reading import FoundSheet, ReadSheet, find_sheet, read_marks
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import Answer
from quizsvc.services.answering import answer_offer
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.on_paper.printed_items import (
    VARIANT_NAMES,
    items_shown,
    options_of,
    printed_by,
)
from quizsvc.services.recipes import item_hash
from quizsvc.store import offers, printed_tests
from quizsvc.store.offers import Purpose
from quizsvc.store.printed_tests import SheetState, StoredCopy, StoredItem, StoredTest

TOKEN_BYTES = 16
MOST_PICTURES = 40  # at once
NONE = "-"  # decided: no box counts


@dataclass(frozen=True, slots=True)
class Mark:
    """What stands at one question: read or decided letters, and the doubt there was."""

    question: int
    letters: str
    doubt: str
    decided: bool

    @property
    def open(self) -> bool:
        return bool(self.doubt) and not self.decided


@dataclass(frozen=True, slots=True)
class PictureRead:
    """What came of one picture; ``test_id`` and ``copy`` where the sheet was known."""

    name: str
    well: bool
    says: str
    test_id: int | None = None
    copy: int | None = None


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A question of a sheet to look at."""

    mark: Mark
    letters: str  # of all its options
    several: bool


@dataclass(frozen=True, slots=True)
class SheetView:
    test_id: int
    title: str
    copy: int
    name: str
    variant: str
    state: SheetState | None
    rows: tuple[SheetRow, ...]
    points: int | None
    out_of: int | None

    @property
    def doubtful(self) -> tuple[SheetRow, ...]:
        return tuple(row for row in self.rows if row.mark.open)


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


def sheet(house: House, actor: Actor, test_id: int, copy: int) -> SheetView:
    """Return what was read of a sheet."""
    with house.read() as connection:
        test = printed_by(connection, actor, test_id)
        stored = _copy(connection, test_id, copy)
        items = items_shown(connection, test_id, stored.variant)
    marks = _marks(stored)
    return SheetView(
        test_id,
        test.title,
        copy,
        stored.name,
        VARIANT_NAMES[stored.variant - 1],
        stored.state,
        tuple(
            SheetRow(
                marks[one.number],
                LETTERS[: len(item.options)],
                item.kind is Kind.SEVERAL_CHOICES,
            )
            for one, item in items
            if one.number in marks
        ),
        stored.points,
        stored.out_of,
    )


def row_picture(house: House, actor: Actor, test_id: int, copy: int, question: int) -> bytes:
    """Return one question's row cut out of the straightened picture, as PNG."""
    with house.read() as connection:
        printed_by(connection, actor, test_id)
        stored = _copy(connection, test_id, copy)
        picture = printed_tests.straightened_of(connection, test_id, copy)
        items = items_shown(connection, test_id, stored.variant)
    if picture is None:
        raise NotFoundError("no picture of this sheet was read.", field="sheet", value=copy)
    return cut_out(picture, options_of(items), question)


def decide(
    house: House,
    actor: Actor,
    test_id: int,
    copy: int,
    decided: Mapping[int, str],
    *,
    now: datetime,  # noqa: ARG001 - every service takes the time
) -> SheetState:
    """Set what a person sees at doubtful questions: letters, or `NONE` for no answer.

    Raises:
        InputError: a letter that the question has not, or two where one may be chosen.
        ConflictError: the sheet counts already.
    """
    with house.write() as connection:
        printed_by(connection, actor, test_id)
        stored = _copy(connection, test_id, copy, lock=True)
        _refuse_counted(stored)
        marks = _marks(stored)
        items = {one.number: item for one, item in items_shown(connection, test_id, stored.variant)}
        for question, letters in decided.items():
            if question in marks and marks[question].doubt:
                settled = _checked(items[question], question, letters)
                marks[question] = Mark(question, settled, marks[question].doubt, decided=True)
        state = _state(marks)
        printed_tests.change_copy(
            connection, test_id, copy, answers=_text(marks), state=state.value
        )
    return state


def count_sheets(house: House, actor: Actor, test_id: int, *, now: datetime) -> int:
    """Put every sheet that is read without open doubt into the records; return how many.

    A sheet counts once, whoever asks how often.
    """
    with house.read() as connection:
        printed_by(connection, actor, test_id)
        ready = [
            one.copy
            for one in printed_tests.copies_of(connection, test_id)
            if one.state is SheetState.READ
        ]
    done = sum(_count_one(house, actor, test_id, copy, now) for copy in ready)
    if done:
        with house.write() as connection:
            subject = f"printed test {test_id}"
            note(connection, actor, Action.SHEETS_COUNTED, subject, now=now, sheets=done)
    return done


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
        stored = _copy(connection, test.id, found.code.copy)
        items = items_shown(connection, test.id, stored.variant)
    several = frozenset(one.number for one, item in items if item.kind is Kind.SEVERAL_CHOICES)
    read = read_marks(found, options_of(items), several)
    marks = _marks_of(read)
    with house.write() as connection:
        stored = _copy(connection, test.id, found.code.copy, lock=True)
        if stored.state is SheetState.COUNTED:
            return _again(name, test, stored)
        state = _state(marks)
        printed_tests.change_copy(
            connection,
            test.id,
            stored.copy,
            state=state.value,
            answers=_text(marks),
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


def _count_one(house: House, actor: Actor, test_id: int, copy: int, now: datetime) -> bool:
    with house.write() as connection:
        test = printed_by(connection, actor, test_id)
        stored = _copy(connection, test_id, copy, lock=True)
        if stored.state is not SheetState.READ:
            return False
        marks = _marks(stored)
        right = 0
        items = items_shown(connection, test_id, stored.variant)
        for one, item in items:
            answer = _answer(marks.get(one.number))
            if answer is not None:
                right += _record(connection, test, stored, one, item, answer, now)
        printed_tests.change_copy(
            connection,
            test_id,
            copy,
            state=SheetState.COUNTED.value,
            counted_at=now,
            points=right,
            out_of=len(items),
        )
    return True


def _record(
    connection: Connection,
    test: StoredTest,
    stored: StoredCopy,
    one: StoredItem,
    item: Item,
    answer: Answer,
    now: datetime,
) -> bool:
    token = secrets.token_hex(TOKEN_BYTES)
    offers.add_offer(
        connection,
        token=token,
        person_id=stored.person_id,
        shop_id=test.shop_id,
        purpose=Purpose.SITTING.value,
        topic=item.topic,
        item_ref=one.item_ref,
        item_version=one.item_version,
        level=one.level,
        kind=one.kind,
        sheet_revision_id=one.sheet_revision_id,
        bank_item_version_id=one.bank_item_version_id,
        seed=one.seed,
        item_hash=item_hash(item),
        why=f"From “{test.title}”, on paper.",
        made_at=test.made_at,
    )
    return answer_offer(connection, token, item, answer, now=now).correct


def _answer(mark: Mark | None) -> Answer | None:
    """Return what was marked; None where no box counts, which says nothing."""
    if mark is None or not mark.letters:
        return None
    return Answer(choices=tuple(LETTERS.index(letter) for letter in mark.letters))


def _copy(connection: Connection, test_id: int, copy: int, *, lock: bool = False) -> StoredCopy:
    found = printed_tests.find_copy(connection, test_id, copy, lock=lock)
    if found is None:
        raise NotFoundError("there is no such answer sheet.", field="sheet", value=copy)
    return found


def _refuse_counted(stored: StoredCopy) -> None:
    if stored.state is SheetState.COUNTED:
        raise ConflictError(
            "this sheet counts already; it stays as it is.",
            field="sheet",
            value=stored.name,
            remedy="Put what was read wrong right by word with the learner.",
        )


def _checked(item: Item, question: int, letters: str) -> str:
    if letters == NONE:
        return ""
    usable = sorted(set(letters.upper()))
    wrong = [letter for letter in usable if letter not in LETTERS[: len(item.options)]]
    if wrong or not usable:
        raise InputError(
            "the question has no such option.",
            field=f"question {question}",
            value=letters[:12],
            remedy="Choose one of its letters, or none.",
        )
    if len(usable) > 1 and item.kind is not Kind.SEVERAL_CHOICES:
        raise InputError(
            "only one option may count here.",
            field=f"question {question}",
            value=letters[:12],
            remedy="Choose the one that is meant, or none.",
        )
    return "".join(usable)


def _marks_of(read: ReadSheet) -> dict[int, Mark]:
    return {
        one.question: Mark(one.question, one.letters, one.doubt, decided=False)
        for one in read.answers
    }


def _state(marks: dict[int, Mark]) -> SheetState:
    waits = any(mark.open for mark in marks.values())
    return SheetState.TO_DECIDE if waits else SheetState.READ


def _marks(stored: StoredCopy) -> dict[int, Mark]:
    return {one["question"]: Mark(**one) for one in json.loads(stored.answers).get("marks", ())}


def _text(marks: dict[int, Mark]) -> str:
    return json.dumps({"marks": [asdict(mark) for mark in marks.values()]})
