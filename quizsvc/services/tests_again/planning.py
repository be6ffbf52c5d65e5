"""Which results of finished tests a corrected key would change, before anything is done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256

from sqlalchemy import Connection

from quizsvc.errors import QuizsvcError
from quizsvc.items.banks.bank import Entry
from quizsvc.items.banks.key_change import same_question
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.model import Item
from quizsvc.rules.actors import Actor
from quizsvc.rules.certifying import DecisionState
from quizsvc.rules.permissions import May, require
from quizsvc.rules.tests_again import Result, Shift, shift
from quizsvc.scoring.decision_report import score_report
from quizsvc.scoring.marking import Marked, mark, right_words
from quizsvc.services.house import House
from quizsvc.services.remark import carried_over
from quizsvc.services.sitting.finishing import given_from, readable
from quizsvc.services.sitting.frozen_items import thaw
from quizsvc.services.write_items import item_for
from quizsvc.store import (
    candidate_forms,
    decisions,
    reviews,
    sat_questions,
    schemes,
    shown_items,
    sitting_marks,
)
from quizsvc.store.sat_questions import SatQuestion
from quizsvc.store.sitting_marks import RemarkDeed

GONE = "what was answered does not stand in the corrected question: it stays as it is"


@dataclass(frozen=True, slots=True)
class Counting:
    """A candidate's form as decided on: without trial questions and void ones."""

    points: int
    out_of: int
    cut_share: float
    certified: bool  # whether a decision that stands rests on it and certified
    scheme: str

    def result(self, points: int, out_of: int) -> Result:
        if not out_of:
            return Result(points, out_of, None)
        return Result(points, out_of, score_report(points, out_of, self.cut_share).passed)


@dataclass(frozen=True, slots=True)
class Line:
    """A finished sitting that asked the item: what it counts now, and what it would count."""

    asked: SatQuestion
    mark: Marked | None  # by the key in use; None where it cannot be told or is by it already
    left: str  # why the marking would leave it as it is, or empty
    now: Result
    marked: Result
    void: Result
    scheme: str  # of a candidate's form, else empty
    certified: bool  # a decision that stands certified on this result

    @property
    def by_marking(self) -> Shift | None:
        return shift(self.now.passed, self.marked.passed)

    @property
    def by_voiding(self) -> Shift | None:
        return shift(self.now.passed, self.void.passed)

    @property
    def turns(self) -> bool:
        """Return whether the answer itself is marked otherwise."""
        return self.mark is not None and self.mark.correct != self.asked.correct


@dataclass(frozen=True, slots=True)
class Plan:
    """What can be done about an item's finished tests, and what each way would change.

    ``seen`` names exactly what stands here, so that nothing else is done than what was looked at.
    """

    item_id: int
    entry: str
    item_ref: str
    version_id: int
    version: int
    used: int | None  # the version in use: the same, or None where there is no key to mark by
    right_words: str  # by the key in use
    caution: str
    reworded: bool  # some were asked in other words
    lines: tuple[Line, ...]
    deeds: tuple[RemarkDeed, ...]  # what was done before, the newest first
    seen: str

    @property
    def has_key(self) -> bool:
        return self.used is not None

    @property
    def to_mark(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.mark is not None)


def plan_of(house: House, actor: Actor, item_id: int) -> Plan:
    """Return the plan for an item.

    Raises:
        NotFoundError: there is no such item for the actor's shop.
    """
    require(actor, May.MARK_TESTS_AGAIN)
    with house.read() as connection:
        item = item_for(connection, actor, item_id)
        versions = reviews.versions_of(connection, item_id)
        used = next((one for one in versions if one.current), None)
        version = used or versions[0]
        item_ref = f"bank:{item.bank_id}/{item.entry}"
        asked = asked_otherwise(
            connection, actor.shop_id, item_ref, item_id, used.id if used else None
        )
        entry = house.shelf.entry(connection, version.id) if used else None
        shown = bank_item(entry, 0) if entry else None
        forms = _counting(connection, asked)
        marks = _marks(connection, entry, asked)
        lines = tuple(_line(entry, one, version.id, forms, marks[_alike(one)]) for one in asked)
        wordings = {one.version_id for one in asked} if entry else set()
        reworded = entry is not None and any(
            not same_question(house.shelf.entry(connection, key).written, entry.written)
            for key in wordings
        )
        deeds = sitting_marks.deeds_on(connection, actor.shop_id, item_id)
    return Plan(
        item_id,
        item.entry,
        item_ref,
        version.id,
        version.version,
        used.id if used else None,
        right_words(shown) if shown else "",
        shown.caution if shown else "",
        reworded,
        lines,
        deeds,
        seen_of(version.id, asked),
    )


def asked_otherwise(
    connection: Connection, shop_id: int, item_ref: str, item_id: int, used: int | None
) -> tuple[SatQuestion, ...]:
    """Return where finished tests asked another version of the item than the one in use."""
    every = sat_questions.sat_with(connection, shop_id, item_ref, item_id)
    return tuple(one for one in every if one.version_id != used)


def seen_of(version_id: int, asked: Iterable[SatQuestion]) -> str:
    """Return a short text that changes with anything a plan rests on."""
    facts = [
        (one.sitting_id, one.number, one.points, one.out_of, one.correct, one.last_remark)
        for one in asked
    ]
    return sha256(repr((version_id, sorted(facts))).encode()).hexdigest()[:32]


def _counting(connection: Connection, asked: Iterable[SatQuestion]) -> dict[int, Counting]:
    found: dict[int, Counting] = {}
    for form_id in sorted({one.form_id for one in asked if one.form_id is not None}):
        form = candidate_forms.find_form(connection, form_id)
        version = schemes.find_version(connection, form.version_id) if form else None
        if form is None or version is None:  # pragma: no cover - foreign keys hold both
            raise LookupError(form_id)
        answers = candidate_forms.answered(connection, form)
        counting = [one for one in answers if not one.pilot and not one.void]
        standing = next(
            (
                one
                for one in decisions.decisions_of(connection, form_id=form_id)
                if one.state is DecisionState.DECIDED
            ),
            None,
        )
        found[form_id] = Counting(
            sum(one.correct for one in counting),
            len(counting),
            version.cut_share or 0.0,
            standing is not None and standing.certified,
            version.title,
        )
    return found


def _line(
    entry: Entry | None,
    asked: SatQuestion,
    version_id: int,
    forms: dict[int, Counting],
    mark_by_key: Marked | None,
) -> Line:
    by_it_already = asked.marked_by == version_id
    made = None if by_it_already else mark_by_key
    left = GONE if entry is not None and not by_it_already and made is None else ""
    gain = int(made.correct) - int(asked.correct) if made else 0
    right = int(asked.correct)
    form = forms.get(asked.form_id or 0)
    if form is None:
        now = Result(asked.points, asked.out_of)
        again = Result(asked.points + gain, asked.out_of)
        void = Result(asked.points - right, asked.out_of - 1)
        return Line(asked, made, left, now, again, void, "", certified=False)
    now = form.result(form.points, form.out_of)
    again = void = now
    if not asked.pilot:
        again = form.result(form.points + gain, form.out_of)
        void = form.result(form.points - right, form.out_of - 1)
    return Line(asked, made, left, now, again, void, form.scheme, certified=form.certified)


def _alike(one: SatQuestion) -> tuple[str, int, str | None]:
    """Return what a mark depends on: many were asked the same and answered alike."""
    return one.shown_hash, one.seed, one.given


def _marks(
    connection: Connection, entry: Entry | None, asked: Iterable[SatQuestion]
) -> dict[tuple[str, int, str | None], Marked | None]:
    found: dict[tuple[str, int, str | None], Marked | None] = {}
    for one in asked:
        if _alike(one) not in found:
            found[_alike(one)] = _mark(connection, entry, one) if entry else None
    return found


def _mark(connection: Connection, entry: Entry, asked: SatQuestion) -> Marked | None:
    """Mark what was given by the key in use; None where it has no meaning there."""
    old = thaw(shown_items.content_of(connection, asked.shown_hash))
    new = bank_item(entry, asked.seed)
    answer, _ = readable(old, asked.seed, given_from(asked.given))
    if answer is None:
        return _nothing(new, asked)
    moved = carried_over(old, new, answer)
    if moved is None:
        return None
    try:
        return mark(new, moved)
    except QuizsvcError:
        return None


def _nothing(new: Item, asked: SatQuestion) -> Marked:
    return Marked(
        correct=False,
        credit=0.0,
        misconception="",
        rationale="",
        given_words=asked.given_words,
        right_words=right_words(new),
    )
