"""Practice: what to practise, the next item, its answer, its outcome, and the history."""

from __future__ import annotations

import secrets
from dataclasses import replace
from datetime import datetime
from functools import partial

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from quizsvc.figures.scene import Scene
from quizsvc.items.model import Item, Level
from quizsvc.rules.actors import Actor
from quizsvc.rules.offers import OPEN_FOR, is_stale
from quizsvc.rules.permissions import May, owns, require
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import Answer, mark
from quizsvc.scoring.standing import uncalibrated
from quizsvc.services.house import House
from quizsvc.services.next_item import (
    Chosen,
    Wish,
    choose,
    most_useful,
    practised_topics,
    standings_of,
    topics_lately,
)
from quizsvc.services.outcomes import outcome_from, outcome_of, past
from quizsvc.services.putting import answer_of, answer_text, open_item
from quizsvc.services.recipes import draw_offered, item_hash
from quizsvc.services.recording import MarkedAnswer, record
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
from quizsvc.store.offers import Purpose, StoredOffer, StoredResponse
from quizsvc.store.sittings import items_held_back, sits_a_timed_test

TOKEN_BYTES = 16  # 128 bits, as 32 hex digits
PAGE = 20


def overview(house: House, actor: Actor, now: datetime) -> PracticeOverview:
    """Return where the actor stands in every topic, and what helps most now."""
    require(actor, May.PRACTISE)
    with house.read() as connection:
        revisions = sheets.latest_published(connection, actor.shop_id)
        topics = practised_topics(connection, actor.shop_id, revisions)
        standings = standings_of(connection, actor.person_id, topics, now=now)
        rows = competence.topics_of(connection, actor.person_id)
        lately = topics_lately(connection, actor.person_id)
    useful = most_useful(topics, standings, lately)
    return PracticeOverview(
        topics=tuple(
            shown_standing(
                topic, standings[topic.id], rows[topic.id].last_at if topic.id in rows else None
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
        offered, response = _own(connection, actor, token)
        if response is None:
            _refuse_stale(offered, now)
        item = draw_offered(house.shelf, connection, offered)
    return open_item(
        offered, item, sheet_title=_sheet_title(house, offered), answered=response is not None
    )


def answer(house: House, actor: Actor, token: str, given: Given, *, now: datetime) -> Outcome:
    """Mark and store the answer; a second call returns the first outcome, changing nothing.

    Raises:
        InputError: the answer is empty or cannot be read; nothing was stored.
        NotFoundError: no such offer, or another person's.
        ConflictError: the offer is stale or the question was replaced.
    """
    require(actor, May.PRACTISE)
    with house.read() as connection:
        offered, response = _own(connection, actor, token)
        if response is not None:
            return outcome_of(house.shelf, connection, offered, response)
        _refuse_held_back(connection, actor, offered, now)
        _refuse_stale(offered, now)
        item = draw_offered(house.shelf, connection, offered)
        marked = _weigh(connection, offered, item, answer_of(item, offered.seed, given))
    stored = house.write_together(partial(record, offer=offered, answer=marked, now=now))
    return outcome_from(item, offered, stored)


def outcome(house: House, actor: Actor, token: str, *, now: datetime) -> Outcome:
    """Return the outcome of an answered offer.

    Raises:
        ConflictError: the offer is not answered yet, or a test in progress asks the same.
    """
    with house.read() as connection:
        offered, response = _own(connection, actor, token)
        if response is None:
            raise ConflictError(
                "this question is not answered yet.", remedy="Answer it, then look again."
            )
        _refuse_held_back(connection, actor, offered, now)
        return outcome_of(house.shelf, connection, offered, response)


def figure(house: House, actor: Actor, token: str, *, solution: bool, now: datetime) -> Scene:
    """Return the item's figure, or with ``solution`` the annotated one once answered.

    Raises:
        NotFoundError: the item has no figure.
        NotAllowedError: the solution was asked for before the answer.
    """
    with house.read() as connection:
        offered, response = _own(connection, actor, token)
        if solution and response is None:
            raise NotAllowedError(
                "the solution is shown once the answer is in.", remedy="Answer first."
            )
        if solution:
            _refuse_held_back(connection, actor, offered, now)
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


def _refuse_held_back(
    connection: Connection, actor: Actor, offered: StoredOffer, now: datetime
) -> None:
    if offered.item_ref in items_held_back(connection, actor.shop_id, now=now):
        raise ConflictError(
            "a test that is not over yet asks this question too.",
            field="question",
            value="held back",
            remedy="Look again when the test is over; your answer stands.",
        )


def _without_key(entry: HistoryEntry) -> HistoryEntry:
    """Return a line of the history without what a test in progress must not tell."""
    return replace(entry, right_words="told again when the test that asks it is over")


def refuse_during_a_test(connection: Connection, actor: Actor) -> None:
    """Keep practice and its answers shut while the actor sits a timed test.

    Raises:
        ConflictError: they do.
    """
    if sits_a_timed_test(connection, actor.person_id):
        raise ConflictError(
            "you are sitting a test; practice opens again when it has ended.",
            field="practice",
            value="shut",
            remedy="Go back to the test.",
        )


def _own(
    connection: Connection, actor: Actor, token: str
) -> tuple[StoredOffer, StoredResponse | None]:
    """Return an offer of the actor's own; another person's looks like none at all.

    Raises:
        ConflictError: the actor sits a timed test; nothing of practice is shown meanwhile.
    """
    refuse_during_a_test(connection, actor)
    found = offers.find_with_response(connection, token) if _could_be_token(token) else None
    if found is None or not owns(actor, found[0].person_id):
        raise NotFoundError(
            "there is no such question for you.",
            field="question",
            value=token[:40],
            remedy="Go back to practice and take the next one.",
        )
    return found


def _could_be_token(token: str) -> bool:
    return len(token) == 2 * TOKEN_BYTES and token.isascii() and token.isalnum()


def _refuse_stale(offered: StoredOffer, now: datetime) -> None:
    if is_stale(offered.made_at, now):
        raise ConflictError(
            f"this question was put to you more than {OPEN_FOR.days} days ago.",
            field="question",
            value=offered.made_at.date().isoformat(),
            remedy="Take the next one; nothing was counted.",
        )


def answer_offer(
    connection: Connection, token: str, item: Item, answered: Answer, *, now: datetime
) -> StoredResponse:
    """Mark and store an answer to the item of an offer within the caller's transaction."""
    offered = offers.find_offer(connection, token)
    if offered is None:
        raise NotFoundError("there is no such offer.", field="question", value=token)
    return record(connection, offered, _weigh(connection, offered, item, answered), now=now)


def _weigh(
    connection: Connection, offered: StoredOffer, item: Item, answered: Answer
) -> MarkedAnswer:
    """Mark an answer and find out how much it says: the item's slope, difficulty and guessing."""
    guessing = guessing_chance(item)
    fitted = competence.calibration_of(connection, offered.item_ref)
    return MarkedAnswer(
        mark(item, answered),
        answer_text(answered),
        ItemParameters(fitted[0], fitted[1], guessing)
        if fitted
        else uncalibrated(Level(offered.level), guessing),
    )


def _sheet_title(house: House, offered: StoredOffer) -> str:
    if offered.sheet_revision_id is None:
        return ""
    with house.read() as connection:
        return house.shelf.sheet(connection, offered.sheet_revision_id).title
