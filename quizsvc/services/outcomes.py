"""What a person learns once an answer is in, rebuilt from the response and the item's recipe."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy import Connection

from quizsvc.errors import QuizsvcError
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Kind
from quizsvc.items.topics import find_topic
from quizsvc.scoring.marking import mark
from quizsvc.services.putting import stored_answer
from quizsvc.services.recipes import draw_offered
from quizsvc.services.shelf import Shelf
from quizsvc.services.shown import FirstMark, HistoryEntry, OptionOutcome, Outcome
from quizsvc.services.standings import before_and_after
from quizsvc.store import remarks
from quizsvc.store.offers import StoredOffer, StoredResponse

UNCOUNTED = "This question was found faulty later, so your answer no longer counts."
REMARKED = "The key of this question was corrected later, and your answer marked again by it."
REPLACED = "This question has been replaced since you answered it; your answer stands."


def outcome_of(
    shelf: Shelf, connection: Connection, offer: StoredOffer, response: StoredResponse
) -> Outcome:
    """Return the outcome; where the item can no longer be drawn, what was stored of it."""
    learnt = outcome_from(_item(shelf, connection, offer), offer, response)
    counted, remarked, first = _as_counted(connection, offer, response)
    if first is None:
        return learnt
    # What the old key said of the options, in words or in a drawing, no longer holds.
    return replace(
        learnt,
        correct=counted.correct,
        credit=counted.credit,
        right_words=counted.right_words,
        misconception_title="",
        misconception_says="",
        rationale="",
        options=(),
        steps=(),
        has_solution_figure=False,
        remarked=remarked,
        first=first,
    )


def outcome_from(item: Item | None, offer: StoredOffer, response: StoredResponse) -> Outcome:
    topic = find_topic(offer.topic)
    before, after = before_and_after(topic, response)
    idea = all_misconceptions().get(response.misconception or "")
    return Outcome(
        token=offer.token,
        prompt=item.prompt if item else "",
        correct=response.correct,
        credit=response.credit,
        given_words=response.given_words,
        right_words=response.right_words,
        misconception_title=idea.title if idea else "",
        misconception_says=idea.but if idea else "",
        rationale=mark(item, stored_answer(response.given)).rationale if item else REPLACED,
        options=_options(item, response) if item else (),
        steps=item.steps if item else (),
        caution=item.caution if item else "",
        reference=item.reference if item else "",
        topic_id=topic.id,
        topic_title=topic.title,
        has_solution_figure=item is not None and _drawn(item),
        picture=item.picture if item else "",
        picture_alt=item.picture_alt if item else "",
        before=before,
        after=after,
        answered_at=response.answered_at,
    )


def past(
    shelf: Shelf, connection: Connection, offer: StoredOffer, response: StoredResponse
) -> HistoryEntry:
    """Return an answered offer as a line of the history."""
    item = _item(shelf, connection, offer)
    response, remarked, first = _as_counted(connection, offer, response)
    sheet_id = offer.sheet_revision_id
    return HistoryEntry(
        token=offer.token,
        answered_at=response.answered_at,
        topic_id=offer.topic,
        topic_title=find_topic(offer.topic).title,
        sheet_title=shelf.sheet(connection, sheet_id).title if sheet_id is not None else "",
        prompt=item.prompt if item else REPLACED,
        given_words=response.given_words,
        right_words=response.right_words,
        correct=response.correct,
        credit=response.credit,
        remarked=remarked,
        first=first,
    )


def _as_counted(
    connection: Connection, offer: StoredOffer, response: StoredResponse
) -> tuple[StoredResponse, str, FirstMark | None]:
    """Return the response as it counts now, and what was decided about it since, if anything."""
    found = remarks.mark_on(connection, offer.id) if offer.bank_item_version_id else None
    if found is None:
        return response, "", None
    mark = found.mark
    first = FirstMark(
        response.correct, response.credit, response.right_words, mark.counted, found.why, found.at
    )
    if not mark.counted:
        return response, UNCOUNTED, first
    counted = replace(
        response,
        correct=mark.correct,
        credit=mark.credit,
        misconception=mark.misconception,
        right_words=mark.right_words,
    )
    return counted, REMARKED, first


def _item(shelf: Shelf, connection: Connection, offer: StoredOffer) -> Item | None:
    """Draw the item again, or None where code or sheet no longer give what was offered."""
    try:
        return draw_offered(shelf, connection, offer)
    except QuizsvcError:
        return None


def _options(item: Item, response: StoredResponse) -> tuple[OptionOutcome, ...]:
    if item.kind not in {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES}:
        return ()
    chosen = stored_answer(response.given).choices
    return tuple(
        OptionOutcome(number, option.text, number - 1 in chosen, option.correct, option.rationale)
        for number, option in enumerate(item.options, 1)
    )


def _drawn(item: Item) -> bool:
    return item.solution_figure is not None or item.figure is not None
