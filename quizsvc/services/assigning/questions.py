"""Choose the questions of a draft, order them and take them out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import MOST_QUESTIONS
from quizsvc.services.assigning import proposing, question_pool
from quizsvc.services.assigning.access import draft_of, runs
from quizsvc.services.assigning.question_pool import Pick
from quizsvc.services.house import House
from quizsvc.store import assignment_questions, banks
from quizsvc.store.assignment_questions import StoredQuestion

Rearranging = Callable[[list[StoredQuestion]], list[StoredQuestion]]


def add_from_topic(
    house: House,
    actor: Actor,
    assignment_id: int,
    *,
    topic: str,
    count: int,
    sheet: str | None,
    level: Level | None,
) -> None:
    """Add questions of a topic that the program chooses."""
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        pool = question_pool.pool_of(connection, actor.shop_id, sheet)
        taken = _taken(connection, assignment_id)
        picks = proposing.from_topic(
            connection,
            house.shelf,
            pool,
            topic,
            count,
            level=level,
            taken=taken,
            seed=house.seeds(),
        )
    _append(house, actor, assignment_id, picks)


def add_family(
    house: House,
    actor: Actor,
    assignment_id: int,
    *,
    family_id: str,
    sheet: str,
    level: Level | None,
) -> None:
    """Add a question of one family on one engine sheet."""
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        pool = question_pool.pool_of(connection, actor.shop_id, sheet)
        pick = proposing.one_family(
            connection, house.shelf, pool, family_id, level=level, seed=house.seeds()
        )
    _append(house, actor, assignment_id, (pick,))


def add_bank_item(house: House, actor: Actor, assignment_id: int, *, item_ref: str) -> None:
    """Add a bank item: the version that is approved now."""
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        pool = question_pool.pool_of(connection, actor.shop_id, None)
        topic = _topic_of(connection, actor, item_ref)
        pick = proposing.one_bank_item(connection, pool, item_ref, topic)
    _append(house, actor, assignment_id, (pick,))


def add_by_blueprint(
    house: House,
    actor: Actor,
    assignment_id: int,
    counts: Mapping[str, int],
    *,
    sheet: str | None,
) -> None:
    """Add as many questions of each topic as the blueprint says."""
    wanted = {topic: count for topic, count in counts.items() if count}
    if not wanted:
        raise InputError(
            "the blueprint asks for no question.",
            field="questions",
            value=0,
            remedy="Give a number for at least one topic.",
        )
    with house.read() as connection:
        runs(connection, actor, assignment_id)
        picks = proposing.by_blueprint(
            connection,
            house.shelf,
            question_pool.pool_of(connection, actor.shop_id, sheet),
            wanted,
            taken=_taken(connection, assignment_id),
            seed=house.seeds(),
        )
    _append(house, actor, assignment_id, picks)


def add_by_mistakes(
    house: House,
    actor: Actor,
    assignment_id: int,
    *,
    count: int,
    sheet: str | None,
    now: datetime,
) -> None:
    """Add questions by what the assignment's class gets wrong."""
    with house.read() as connection:
        held = runs(connection, actor, assignment_id)
        if held.class_id is None:
            raise InputError(
                "it is for no class, so nothing is known of a class.",
                field="class",
                value="none",
                remedy="Choose a class, or propose by topics.",
            )
        picks = proposing.by_mistakes(
            connection,
            house.shelf,
            question_pool.pool_of(connection, actor.shop_id, sheet),
            held.class_id,
            count,
            taken=_taken(connection, assignment_id),
            seed=house.seeds(),
            now=now,
        )
    _append(house, actor, assignment_id, picks)


def remove(house: House, actor: Actor, assignment_id: int, place: int) -> None:
    """Take a question out of a draft."""
    _rearrange(house, actor, assignment_id, lambda rows: [r for r in rows if r.place != place])


def move_up(house: House, actor: Actor, assignment_id: int, place: int) -> None:
    """Move a question of a draft one place up."""

    def moved(rows: list[StoredQuestion]) -> list[StoredQuestion]:
        at = next((n for n, row in enumerate(rows) if row.place == place), 0)
        if at > 0:
            rows[at - 1], rows[at] = rows[at], rows[at - 1]
        return rows

    _rearrange(house, actor, assignment_id, moved)


def _taken(connection: Connection, assignment_id: int) -> frozenset[str]:
    return frozenset(
        question.item_ref
        for question in assignment_questions.questions_of(connection, assignment_id)
    )


def _topic_of(connection: Connection, actor: Actor, item_ref: str) -> str:
    for topic in TOPICS:
        for one in banks.current_approved(connection, actor.shop_id, topic.id):
            if f"bank:{one.bank_id}/{one.entry}" == item_ref:
                return topic.id
    raise InputError(
        "there is no such bank item here.",
        field="question",
        value=item_ref[:80],
        remedy="Choose one of those on the page.",
    )


def _append(house: House, actor: Actor, assignment_id: int, picks: tuple[Pick, ...]) -> None:
    with house.write() as connection:
        draft_of(connection, actor, assignment_id)
        rows = assignment_questions.questions_of(connection, assignment_id)
        if len(rows) + len(picks) > MOST_QUESTIONS:
            raise InputError(
                "that would be too many questions.",
                field="questions",
                value=len(rows) + len(picks),
                remedy=f"At most {MOST_QUESTIONS}.",
            )
        kept = [_row(row, place) for place, row in enumerate(rows, 1)]
        new = [pick.columns(place) for place, pick in enumerate(picks, len(rows) + 1)]
        assignment_questions.replace_questions(connection, assignment_id, kept + new)


def _rearrange(house: House, actor: Actor, assignment_id: int, how: Rearranging) -> None:
    with house.write() as connection:
        draft_of(connection, actor, assignment_id)
        rows = how(list(assignment_questions.questions_of(connection, assignment_id)))
        assignment_questions.replace_questions(
            connection, assignment_id, [_row(row, place) for place, row in enumerate(rows, 1)]
        )


def _row(row: StoredQuestion, place: int) -> dict[str, object]:
    return {
        "place": place,
        "topic": row.topic,
        "item_ref": row.item_ref,
        "item_version": row.item_version,
        "level": row.level,
        "kind": row.kind,
        "sheet_revision_id": row.sheet_revision_id,
        "bank_item_version_id": row.bank_item_version_id,
    }
