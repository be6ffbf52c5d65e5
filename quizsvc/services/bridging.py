"""Order a quiz made only of what changed, for those whose record rests on it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.items.model import Level
from quizsvc.rules.actors import Actor
from quizsvc.rules.assignments import Feedback, Form, Terms
from quizsvc.rules.audit import Action
from quizsvc.services.assigning import proposing, question_pool
from quizsvc.services.assigning.giving_out import give_out
from quizsvc.services.assigning.question_pool import Pick
from quizsvc.services.auditing import note
from quizsvc.services.changed_truth import item_change, sheet_change
from quizsvc.services.house import House
from quizsvc.services.readiness import refusals_noted
from quizsvc.services.team_facts import BRIDGE_SHARE, people_seen
from quizsvc.store import read_revisions

DAYS = 14  # to do a bridging quiz in
TRIES = 5
MOST_FAMILIES = 12
ITEM_QUESTIONS = 3  # in place of a withdrawn item
TITLE_ROOM = 80


def order_for_sheet(
    house: House, actor: Actor, sheet_id: str, person_ids: Iterable[int], *, now: datetime
) -> int:
    """Give the people a quiz made only of what changed in the sheet; return its assignment.

    Until they pass it, readiness counts the sheet as out of date for them.

    Raises:
        InputError: nobody was chosen, or no answer changed.
        NotFoundError: no such sheet, or a person of another team; that is noted.
    """
    with refusals_noted(house, actor, f"sheet {sheet_id[:60]}", now=now):
        found = sheet_change(house, actor, sheet_id)
        chosen = _chosen(house, actor, person_ids)
        if not found.families:
            raise InputError(
                "no answer changed, so there is nothing to ask about.",
                field="engine sheet",
                value=sheet_id,
                remedy="Let people read the new revision; that is all it needs.",
            )
        new, title = found.change.new, found.change.title
        why = f"Revision {new.revision} of {title}"
        with house.write() as connection:
            pool = question_pool.pool_of(connection, actor.shop_id, sheet_id)
            picks = tuple(
                proposing.one_family(
                    connection, house.shelf, pool, one.family.id, seed=house.seeds()
                )
                for one in found.families[:MOST_FAMILIES]
            )
            return _order(connection, house, actor, why, chosen, picks, now, sheet_id=sheet_id)


def order_for_item(
    house: House, actor: Actor, item_ref: str, person_ids: Iterable[int], *, now: datetime
) -> int:
    """Give the people a quiz in place of a withdrawn item: its topic, at its level."""
    with refusals_noted(house, actor, f"item {item_ref[:60]}", now=now):
        found = item_change(house, actor, item_ref)
        chosen = _chosen(house, actor, person_ids)
        why = f"Withdrawn question “{found.item.entry.replace('-', ' ')}”"
        with house.write() as connection:
            picks = proposing.from_topic(
                connection,
                house.shelf,
                question_pool.pool_of(connection, actor.shop_id, None),
                found.item.topic,
                ITEM_QUESTIONS,
                level=Level(found.item.level),
                taken=(item_ref,),
                seed=house.seeds(),
            )
            return _order(connection, house, actor, why, chosen, picks, now, item_ref=item_ref)


def _order(
    connection: Connection,
    house: House,
    actor: Actor,
    why: str,
    people: frozenset[int],
    picks: tuple[Pick, ...],
    now: datetime,
    *,
    sheet_id: str | None = None,
    item_ref: str | None = None,
) -> int:
    terms = Terms(
        f"Bridging quiz: {why[:TITLE_ROOM]}",
        Form.HOMEWORK,
        now,
        now + timedelta(days=DAYS),
        tries=TRIES,
        feedback=Feedback.AT_END,
        words=f"Only what changed. At least {BRIDGE_SHARE:.0%} right bridges the change.",
    )
    made = give_out(connection, house, actor, terms, people, picks, now=now)
    read_revisions.add_bridging(
        connection,
        assignment_id=made,
        shop_id=actor.shop_id,
        sheet_id=sheet_id,
        item_ref=item_ref,
        why=why,
        ordered_by=actor.person_id,
        ordered_at=now,
    )
    note(
        connection,
        actor,
        Action.BRIDGING_ORDERED,
        f"assignment {made}",
        now=now,
        people=len(people),
        questions=len(picks),
    )
    return made


def _chosen(house: House, actor: Actor, person_ids: Iterable[int]) -> frozenset[int]:
    chosen = frozenset(person_ids)
    if not chosen:
        raise InputError(
            "nobody was chosen.", field="people", value="none", remedy="Tick at least one person."
        )
    with house.read() as connection:
        seen = {one.id for one in people_seen(connection, actor)}
    if strangers := chosen - seen:
        raise NotFoundError(
            "there is no such person in your team.",
            field="people",
            value=min(strangers),
            remedy="Choose some of those on the page.",
        )
    return chosen
