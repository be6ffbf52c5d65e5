"""Answers marked again after a key was corrected or an item withdrawn as faulty.

A response is never changed: what it counts as from now on stands in a record beside it, with who
decided it and why. Then the competence of the people concerned is computed anew.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError, QuizsvcError
from quizsvc.items.banks.bank import Entry
from quizsvc.items.banks.keys import same_text
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.model import Item, Kind
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import Answer, mark
from quizsvc.services.auditing import note
from quizsvc.services.background import Work, ask_for, kind_of_work, run_next
from quizsvc.services.house import House
from quizsvc.services.putting import stored_answer
from quizsvc.services.replay import recompute
from quizsvc.services.write_items import item_for
from quizsvc.store import remarks
from quizsvc.store.offers import StoredResponse
from quizsvc.store.remarks import Affected, Cause, Concerned, NewMark, RemarkRow

AT_ONCE = 300  # answers marked again while the page waits; more go to the background


@dataclass(frozen=True, slots=True)
class RemarkPage:
    remark: RemarkRow
    entry: str
    people: tuple[Concerned, ...]  # of the actor's shop


def begin(house: House, actor: Actor, remark_id: int, *, now: datetime) -> None:
    """Mark the answers again: at once where they are few, else in the background."""
    with house.read() as connection:
        remark = remarks.find(connection, remark_id)
        count = len(remarks.answered(connection, remark.item_id)) if remark else 0
    payload = json.dumps({"remark": remark_id})
    job_id = ask_for(house, actor, "mark again", payload, total=count, now=now)
    if count <= AT_ONCE:
        run_next(house, lambda: now, job_id=job_id)


def remark_page(house: House, actor: Actor, item_id: int, remark_id: int) -> RemarkPage:
    """Return whom a remark concerns in the actor's shop."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        item = item_for(connection, actor, item_id)
        found = remarks.find(connection, remark_id)
        if found is None or found.item_id != item_id:
            raise NotFoundError("there is no such record.", field="remark", value=remark_id)
        people = remarks.concerned(connection, remark_id, actor.shop_id)
    return RemarkPage(found, item.entry, people)


@kind_of_work("mark again")
def mark_again(work: Work) -> str:
    """Write down what each answer counts as now, then compute competence anew, person by person."""
    remark_id = json.loads(work.payload)["remark"]
    people = _write_marks(work, remark_id)
    for done, person_id in enumerate(people, 1):
        recompute(work.house, person_id)
        work.tell(done, len(people))
    return json.dumps({"remark": remark_id, "people": len(people)})


def _write_marks(work: Work, remark_id: int) -> list[int]:
    """Return whom the remark concerns; its marks are written once, whoever asks how often."""
    with work.house.read() as connection:
        remark = remarks.find(connection, remark_id)
        people = remarks.people_of(connection, remark_id)
        if remark is None or people:
            return people
        marks = _marks(work.house, connection, remark)
    with work.house.write() as connection:
        remarks.add_marks(connection, remark_id, marks)
        people = sorted({one.person_id for one in marks})
        note(
            connection,
            work.actor,
            Action.ANSWERS_REMARKED,
            f"item {remark.item_id}",
            now=work.clock(),
            remark=remark_id,
            cause=remark.cause.value,
            answers=len(marks),
            people=people,
        )
    return people


def _marks(house: House, connection: Connection, remark: RemarkRow) -> list[NewMark]:
    found = []
    entry = house.shelf.entry(connection, remark.version_id)
    before = remarks.marks_on_item(connection, remark.item_id)
    for one in remarks.answered(connection, remark.item_id):
        if remark.cause is Cause.FAULTY:
            found.append(_uncounted(one))
        elif one.offer.bank_item_version_id != remark.version_id:
            new = _by_new_key(house, connection, one, entry)
            if new is not None and _stands(new) != _stands(
                before.get(one.response_id, one.response)
            ):
                found.append(new)
    return found


def _stands(mark: NewMark | StoredResponse) -> tuple[bool, bool, float]:
    """Return what a mark says: whether it counts, right or not, and how far."""
    return not isinstance(mark, NewMark) or mark.counted, mark.correct, mark.credit


def _uncounted(one: Affected) -> NewMark:
    given = one.response
    return NewMark(
        one.response_id,
        one.offer.person_id,
        counted=False,
        correct=given.correct,
        credit=given.credit,
        misconception=given.misconception,
        right_words=given.right_words,
    )


def _by_new_key(
    house: House, connection: Connection, one: Affected, entry: Entry
) -> NewMark | None:
    """Mark an answer by the new key; None where the new version has no such thing to choose."""
    assert one.offer.bank_item_version_id is not None  # noqa: S101 - found through that column
    old = bank_item(house.shelf.entry(connection, one.offer.bank_item_version_id), one.offer.seed)
    new = bank_item(entry, one.offer.seed)
    answer = carried_over(old, new, stored_answer(one.response.given))
    if answer is None:
        return None
    try:
        marked = mark(new, answer)
    except QuizsvcError:
        return None
    return NewMark(
        one.response_id,
        one.offer.person_id,
        counted=True,
        correct=marked.correct,
        credit=marked.credit,
        misconception=marked.misconception or None,
        right_words=marked.right_words,
    )


def carried_over(old: Item, new: Item, answer: Answer) -> Answer | None:
    """Return an answer to one version in terms of another, or None where it has no meaning there.

    Options, things and partners are the same when their words are; numbers carry over as they
    are, places while the picture is the same.
    """
    if old.kind is not new.kind:
        return None
    match old.kind:
        case Kind.ONE_CHOICE | Kind.SEVERAL_CHOICES:
            return _same_choices(old, new, answer)
        case Kind.NUMBER:
            fits = old.asked.unit == new.asked.unit
        case Kind.ORDER:
            fits = set(answer.sequence) == set(new.key.sequence)
        case Kind.MATCH:
            fits = {a for a, _ in answer.pairs} == set(new.left) and all(
                partner in new.right for _, partner in answer.pairs
            )
        case Kind.POINT:
            fits = old.picture == new.picture
        case _:
            fits = False
    return answer if fits else None


def _same_choices(old: Item, new: Item, answer: Answer) -> Answer | None:
    texts = {same_text(option.text): n for n, option in enumerate(new.options)}
    chosen = [texts.get(same_text(old.options[n].text)) for n in answer.choices]
    known = sorted(n for n in chosen if n is not None)
    return Answer(choices=tuple(known)) if len(known) == len(chosen) else None
