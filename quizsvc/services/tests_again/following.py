"""People's records follow their tests: answers counted from a test are marked again like it.

Done in the background, and again for a test whose answers come into the record only later.
"""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.rules.audit import Action
from quizsvc.services.auditing import note
from quizsvc.services.background import Work, kind_of_work
from quizsvc.services.replay import recompute
from quizsvc.store import jobs, remarks, sat_questions, sitting_marks
from quizsvc.store.remarks import Cause, NewMark
from quizsvc.store.sat_questions import AnswerToFollow
from quizsvc.store.sittings import StoredSitting

AT_ONCE = 200  # sittings in one transaction, so that nobody waits long for it
KIND = "records follow tests marked again"


def ask_to_follow(
    connection: Connection,
    sitting_ids: list[int],
    *,
    shop_id: int,
    person_id: int | None,
    now: datetime,
) -> int:
    """Put the work in the queue with what leads to it; return its key."""
    payload = json.dumps({"sittings": sitting_ids})
    return jobs.add(
        connection,
        KIND,
        payload,
        shop_id=shop_id,
        person_id=person_id,
        total=len(sitting_ids),
        now=now,
    )


def follow_if_marked_again(
    connection: Connection, sitting: StoredSitting, *, now: datetime
) -> None:
    """See to it that answers which have just come into the record are marked like their test."""
    if sitting_marks.is_marked_again(connection, sitting.id):
        ask_to_follow(connection, [sitting.id], shop_id=sitting.shop_id, person_id=None, now=now)


@kind_of_work(KIND)
def follow(work: Work) -> str:
    """Mark the answers in the records again, then compute the people's standing anew."""
    sitting_ids = json.loads(work.payload)["sittings"]
    people: set[int] = set()
    for start in range(0, len(sitting_ids), AT_ONCE):
        people |= _follow_some(work, sitting_ids[start : start + AT_ONCE])
    for done, person_id in enumerate(sorted(people), 1):
        recompute(work.house, person_id)
        work.tell(done, len(people))
    return json.dumps({"sittings": len(sitting_ids), "people": len(people)})


def _follow_some(work: Work, sitting_ids: list[int]) -> set[int]:
    """Mark the answers of some sittings again; return of whom."""
    with work.house.write() as connection:
        behind = _behind(connection, sitting_ids)
        for (item_id, version_id, made_by, why), answers in behind.items():
            remark_id = remarks.add_remark(
                connection,
                item_id=item_id,
                version_id=version_id,
                cause=Cause.KEY_CORRECTED,
                person_id=made_by,
                why=why,
                now=work.clock(),
            )
            remarks.add_marks(connection, remark_id, [_mark(one) for one in answers])
            _note(connection, work, item_id, remark_id, answers)
    return {one.person_id for answers in behind.values() for one in answers}


def _behind(
    connection: Connection, sitting_ids: list[int]
) -> dict[tuple[int, int, int, str], list[AnswerToFollow]]:
    """Return the answers that do not count yet what their test says, by item and reason."""
    found: dict[tuple[int, int, int, str], list[AnswerToFollow]] = defaultdict(list)
    known: dict[int, dict[int, NewMark]] = {}
    for one in sat_questions.answers_to_follow(connection, sitting_ids):
        if one.item_id not in known:
            known[one.item_id] = remarks.marks_on_item(connection, one.item_id)
        stands = known[one.item_id].get(one.response_id)
        counts = stands is None or stands.counted
        mark = (stands.correct, stands.credit) if stands else (one.correct, one.credit)
        if (counts, *mark) != (True, one.new_correct, one.new_credit):
            found[one.item_id, one.version_id, one.made_by, one.why].append(one)
    return found


def _mark(one: AnswerToFollow) -> NewMark:
    return NewMark(
        one.response_id,
        one.person_id,
        counted=True,
        correct=one.new_correct,
        credit=one.new_credit,
        misconception=one.misconception,
        right_words=one.right_words,
    )


def _note(
    connection: Connection, work: Work, item_id: int, remark_id: int, answers: list[AnswerToFollow]
) -> None:
    note(
        connection,
        work.actor if work.job.person_id else None,
        Action.ANSWERS_REMARKED,
        f"item {item_id}",
        now=work.clock(),
        shop_id=work.job.shop_id,
        remark=remark_id,
        cause=Cause.KEY_CORRECTED.value,
        answers=len(answers),
        people=sorted({one.person_id for one in answers}),
    )
