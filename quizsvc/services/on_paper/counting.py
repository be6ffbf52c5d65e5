"""Count every answer sheet once."""

from __future__ import annotations

import secrets
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.items.model import Item
from quizsvc.paper.answer_sheet import LETTERS
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.scoring.marking import Answer
from quizsvc.services.answering import answer_offer
from quizsvc.services.auditing import note
from quizsvc.services.house import House
from quizsvc.services.on_paper.printed_items import items_shown, printed_by
from quizsvc.services.on_paper.sheet_marks import Mark, find_copy, marks_stored
from quizsvc.services.on_paper.sheet_pictures import TOKEN_BYTES
from quizsvc.services.recipes import item_hash
from quizsvc.store import offers, printed_tests
from quizsvc.store.offers import Purpose
from quizsvc.store.printed_tests import SheetState, StoredCopy, StoredItem, StoredTest


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


def _count_one(house: House, actor: Actor, test_id: int, copy: int, now: datetime) -> bool:
    with house.write() as connection:
        test = printed_by(connection, actor, test_id)
        stored = find_copy(connection, test_id, copy, lock=True)
        if stored.state is not SheetState.READ:
            return False
        marks = marks_stored(stored)
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
