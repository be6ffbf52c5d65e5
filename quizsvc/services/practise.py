"""Practice: what to practise, the next item, its answer, its outcome, and the history."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.figures.scene import Scene
from quizsvc.items.model import Item
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.answering import weigh
from quizsvc.services.house import House
from quizsvc.services.next_item import Chosen, Wish, choose
from quizsvc.services.next_topic import most_useful, person_now, practised_topics
from quizsvc.services.outcomes import outcome_from, outcome_of, past
from quizsvc.services.practice_gate import (
    TOKEN_BYTES,
    answerable,
    own_offer,
    refuse_during_a_test,
    refuse_held_back,
    refuse_stale,
)
from quizsvc.services.putting import answer_of, open_item
from quizsvc.services.recipes import draw_offered, item_hash, refuse_withdrawn
from quizsvc.services.recording import record
from quizsvc.services.shown import (
    Given,
    HistoryEntry,
    HistoryPage,
    OpenItem,
    Outcome,
    PracticeOverview,
    SheetChoice,
)
from quizsvc.services.standings import shown_standing
from quizsvc.store import competence, offers, sheets
from quizsvc.store.held_back import items_held_back
from quizsvc.store.offers import Purpose, StoredOffer, StoredResponse

PAGE = 20


def overview(house: House, actor: Actor, now: datetime) -> PracticeOverview:
    """Return where the actor stands in every topic, and what helps most now."""
    require(actor, May.PRACTISE)
    with house.read() as connection:
        revisions = sheets.latest_published(connection, actor.shop_id)
        topics = practised_topics(connection, actor.shop_id, revisions)
        person = person_now(connection, actor.person_id, topics, now=now)
        rows = competence.topics_of(connection, actor.person_id)
    useful = most_useful(topics, person)
    return PracticeOverview(
        topics=tuple(
            shown_standing(
                topic,
                person.standings[topic.id],
                rows[topic.id].last_at if topic.id in rows else None,
            )
            for topic in topics
        ),
        sheets=tuple(SheetChoice(one.sheet_id, one.title, one.revision) for one in revisions),
        most_useful=useful[0].id if useful else "",
        why=useful[1].why if useful else "There is nothing to practise yet.",
    )


def put_next(
    house: House, actor: Actor, *, topic: str | None = None, sheet: str | None = None, now: datetime
) -> str:
    """Offer an item and return its token; ``topic`` None means what helps most now.

    Raises:
        InputError: the topic or sheet is unknown or has nothing to practise.
    """
    require(actor, May.PRACTISE)
    with house.read() as connection:
        refuse_during_a_test(connection, actor)
        chosen = choose(
            connection, house.shelf, actor, Wish(topic, sheet), seed=house.seeds(), now=now
        )
    with house.write() as connection:
        return offer(connection, actor, chosen, now=now)


def offer(connection: Connection, actor: Actor, chosen: Chosen, *, now: datetime) -> str:
    """Store that the chosen item was put to the actor; return its token."""
    token, recipe = secrets.token_hex(TOKEN_BYTES), chosen.recipe
    offers.add_offer(
        connection,
        token=token,
        person_id=actor.person_id,
        shop_id=actor.shop_id,
        purpose=Purpose.PRACTICE.value,
        topic=chosen.item.topic,
        item_ref=recipe.item_ref,
        item_version=recipe.item_version,
        level=recipe.level.value,
        kind=recipe.kind.value,
        sheet_revision_id=recipe.sheet_revision_id,
        bank_item_version_id=recipe.bank_item_version_id,
        seed=recipe.seed,
        item_hash=item_hash(chosen.item),
        why=chosen.why,
        made_at=now,
    )
    return token


def open_offer(house: House, actor: Actor, token: str, *, now: datetime) -> OpenItem:
    """Return the offered item as put to the actor, without key, seed or misconception.

    Raises:
        NotFoundError: no such offer, or another person's.
        ConflictError: the offer is stale or the question was replaced.
    """
    with house.read() as connection:
        offered, response = own_offer(connection, actor, token)
        if response is None:
            refuse_stale(offered, now)
            refuse_withdrawn(connection, offered)
        item = draw_offered(house.shelf, connection, offered)
    return open_item(
        offered, item, sheet_title=_sheet_title(house, offered), answered=response is not None
    )


def submit(house: House, actor: Actor, token: str, given: Given, *, now: datetime) -> bool:
    """Mark and store the answer; return whether it is the first, a later one changing nothing.

    Raises:
        InputError: the answer is empty or cannot be read; nothing was stored.
        NotFoundError: no such offer, or another person's.
        ConflictError: the offer is stale, the question was replaced, or a test stands in the way.
    """
    return _submit(house, actor, token, given, now=now).first


def answer(house: House, actor: Actor, token: str, given: Given, *, now: datetime) -> Outcome:
    """Submit an answer and return its outcome; a second call returns the first outcome.

    Raises what `submit` raises.
    """
    done = _submit(house, actor, token, given, now=now)
    if done.item is not None:
        return outcome_from(done.item, done.offer, done.response)
    with house.read() as connection:
        return outcome_of(house.shelf, connection, done.offer, done.response)


@dataclass(frozen=True, slots=True)
class _Submitted:
    """The answer that stands; the item where it was drawn on the way."""

    offer: StoredOffer
    response: StoredResponse
    item: Item | None
    first: bool


def _submit(house: House, actor: Actor, token: str, given: Given, *, now: datetime) -> _Submitted:
    require(actor, May.PRACTISE)
    with house.read() as connection:
        found = answerable(connection, actor, token, now=now)
        offered = found.offer
        if found.response is not None:
            return _Submitted(offered, found.response, None, first=False)
        item = draw_offered(house.shelf, connection, offered)
    marked = weigh(item, answer_of(item, offered.seed, given), found.fitted)
    recorded = house.write_together(partial(record, offer=offered, answer=marked, now=now))
    return _Submitted(offered, recorded.response, item, recorded.first)


def outcome(house: House, actor: Actor, token: str, *, now: datetime) -> Outcome:
    """Return the outcome of an answered offer.

    Raises:
        ConflictError: the offer is not answered yet, or a test in progress asks the same.
    """
    with house.read() as connection:
        offered, response = own_offer(connection, actor, token)
        if response is None:
            raise ConflictError(
                "this question is not answered yet.", remedy="Answer it, then look again."
            )
        refuse_held_back(connection, actor, offered, now)
        return outcome_of(house.shelf, connection, offered, response)


def figure(house: House, actor: Actor, token: str, *, solution: bool, now: datetime) -> Scene:
    """Return the item's figure, or with ``solution`` the annotated one once answered.

    Raises:
        NotFoundError: the item has no figure.
        NotAllowedError: the solution was asked for before the answer.
    """
    with house.read() as connection:
        offered, response = own_offer(connection, actor, token)
        if solution and response is None:
            raise NotAllowedError(
                "the solution is shown once the answer is in.", remedy="Answer first."
            )
        if solution:
            refuse_held_back(connection, actor, offered, now)
        item = draw_offered(house.shelf, connection, offered)
    drawn = item.solution_figure or item.figure if solution else item.figure
    if drawn is None:
        raise NotFoundError("this question has no figure.", field="figure", value=token)
    return drawn()


def history(
    house: House,
    actor: Actor,
    *,
    topic: str | None = None,
    page: int = 1,
    now: datetime,
) -> HistoryPage:
    """Return a page of the actor's own answers, newest first."""
    require(actor, May.SEE_OWN_RECORD)
    with house.read() as connection:
        refuse_during_a_test(connection, actor)
        total = offers.count_responses(connection, actor.person_id, topic)
        pages = max(1, -(-total // PAGE))
        if not 1 <= page <= pages:
            raise InputError(
                "there is no such page.",
                field="page",
                value=page,
                remedy=f"The pages run from 1 to {pages}.",
            )
        rows = offers.page_of_responses(
            connection, actor.person_id, topic, skip=(page - 1) * PAGE, count=PAGE
        )
        held = items_held_back(connection, actor.shop_id, now=now)
        entries = tuple(
            _without_key(entry) if row[0].item_ref in held else entry
            for row in rows
            for entry in (past(house.shelf, connection, *row),)
        )
    return HistoryPage(topic, entries, page, pages, total)


def _without_key(entry: HistoryEntry) -> HistoryEntry:
    """Return a line of the history without what a test in progress must not tell."""
    later = "told again when the test that asks it is over"
    first = replace(entry.first, right_words="", why="") if entry.first else None
    return replace(entry, right_words=later, first=first)


def _sheet_title(house: House, offered: StoredOffer) -> str:
    if offered.sheet_revision_id is None:
        return ""
    with house.read() as connection:
        return house.shelf.sheet(connection, offered.sheet_revision_id).title
