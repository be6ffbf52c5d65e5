"""Whose record rests on what changed: a sheet's new revision, or an item withdrawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.house import House
from quizsvc.services.sheet_changes import FamilyChange, families_changed
from quizsvc.services.team_facts import BRIDGE_SHARE, people_seen
from quizsvc.sheets.difference import Difference, differences
from quizsvc.store import evidence_of_change, read_revisions, sheet_evidence, sheets
from quizsvc.store.evidence_of_change import RestingCertificate, WithdrawnItem
from quizsvc.store.read_revisions import BridgingLine
from quizsvc.store.sheets import RevisionRow, RevisionState


@dataclass(frozen=True, slots=True)
class ChangedSheet:
    """A sheet with a published revision after the first."""

    sheet_id: str
    title: str
    old: RevisionRow
    new: RevisionRow
    people: int  # of those the actor sees, with answers on the older revision


@dataclass(frozen=True, slots=True)
class Touched:
    """Somebody of the team whose record rests on what changed."""

    person_id: int
    name: str
    what: tuple[str, ...]
    ordered: bool  # a bridging quiz is open for them


@dataclass(frozen=True, slots=True)
class ChangesPage:
    sheets: tuple[ChangedSheet, ...]
    items: tuple[tuple[WithdrawnItem, int], ...]  # with how many people answered it
    quizzes: tuple[BridgingLine, ...]


@dataclass(frozen=True, slots=True)
class SheetChange:
    """What a sheet's newest revision changed, and whom that touches."""

    change: ChangedSheet
    differences: tuple[Difference, ...]
    families: tuple[FamilyChange, ...]  # of which the answers changed
    people: tuple[Touched, ...]
    pass_share: float


@dataclass(frozen=True, slots=True)
class ItemChange:
    item: WithdrawnItem
    topic_title: str
    people: tuple[Touched, ...]
    pass_share: float


def list_changes(house: House, actor: Actor) -> ChangesPage:
    """Return what changed of the sheets and items that people's records rest on."""
    require(actor, May.ORDER_BRIDGING)
    with house.read() as connection:
        team = {one.id for one in people_seen(connection, actor)}
        items = evidence_of_change.withdrawn_items(connection, actor.shop_id)
        return ChangesPage(
            tuple(_changed_sheets(connection, actor, team)),
            tuple((one, _answered(connection, actor, one.item_ref, team)) for one in items),
            read_revisions.bridging_of(connection, actor.shop_id, passing=BRIDGE_SHARE),
        )


def sheet_change(house: House, actor: Actor, sheet_id: str) -> SheetChange:
    """Return what the newest revision changed, and who of the team it touches."""
    require(actor, May.ORDER_BRIDGING)
    with house.read() as connection:
        change = _changed_sheet(connection, actor, sheet_id)
        old = house.shelf.sheet(connection, change.old.id)
        new = house.shelf.sheet(connection, change.new.id)
        people = _touched_by_sheet(connection, actor, change)
    families = tuple(one for one in families_changed(old, new) if one.answers)
    return SheetChange(change, differences(old, new), families, people, BRIDGE_SHARE)


def item_change(house: House, actor: Actor, item_ref: str) -> ItemChange:
    """Return a withdrawn item and who of the team answered it."""
    require(actor, May.ORDER_BRIDGING)
    with house.read() as connection:
        item = _withdrawn(connection, actor, item_ref)
        people = _touched_by_item(connection, actor, item)
    return ItemChange(item, find_topic(item.topic).title, people, BRIDGE_SHARE)


def _changed_sheets(connection: Connection, actor: Actor, team: set[int]) -> Iterable[ChangedSheet]:
    by_sheet: dict[str, list[RevisionRow]] = {}
    for row in sheets.revisions_for(connection, actor.shop_id):
        if row.state is RevisionState.PUBLISHED:
            by_sheet.setdefault(row.sheet_id, []).append(row)
    for sheet_id, rows in by_sheet.items():
        if len(rows) > 1:
            new, old = rows[0], rows[1]
            answered = sheet_evidence.answered_on(connection, old.id, actor.shop_id)
            people = sum(one.person_id in team for one in answered)
            yield ChangedSheet(sheet_id, new.title, old, new, people)


def _changed_sheet(connection: Connection, actor: Actor, sheet_id: str) -> ChangedSheet:
    team = {one.id for one in people_seen(connection, actor)}
    for one in _changed_sheets(connection, actor, team):
        if one.sheet_id == sheet_id:
            return one
    raise NotFoundError(
        "there is no such sheet with a later revision here.",
        field="engine sheet",
        value=sheet_id[:80],
        remedy="Go to the list of changes.",
    )


def _withdrawn(connection: Connection, actor: Actor, item_ref: str) -> WithdrawnItem:
    for one in evidence_of_change.withdrawn_items(connection, actor.shop_id):
        if one.item_ref == item_ref:
            return one
    raise NotFoundError(
        "there is no such withdrawn question here.",
        field="question",
        value=item_ref[:80],
        remedy="Go to the list of changes.",
    )


def _touched_by_sheet(
    connection: Connection, actor: Actor, change: ChangedSheet
) -> tuple[Touched, ...]:
    answered = sheet_evidence.answered_on(connection, change.old.id, actor.shop_id)
    what = [
        (
            one.person_id,
            f"{one.answers} answers on revision {change.old.revision}, {one.right} right",
        )
        for one in answered
    ]
    held = evidence_of_change.certificates_on_revision(connection, change.old.id, actor.shop_id)
    due = _due(connection, actor, sheet_id=change.sheet_id)
    return _touched(connection, actor, [*what, *_certified(held)], due)


def _touched_by_item(
    connection: Connection, actor: Actor, item: WithdrawnItem
) -> tuple[Touched, ...]:
    answered = evidence_of_change.answered_item(connection, item.item_ref, actor.shop_id)
    what = [(one.person_id, f"asked {one.answers} times, {one.right} right") for one in answered]
    held = evidence_of_change.certificates_on_item(connection, item.item_ref, actor.shop_id)
    due = _due(connection, actor, item_ref=item.item_ref)
    return _touched(connection, actor, [*what, *_certified(held)], due)


def _certified(held: tuple[RestingCertificate, ...]) -> list[tuple[int, str]]:
    return [
        (one.person_id, f"certificate “{one.scheme}”: {one.questions} of its questions")
        for one in held
    ]


def _due(
    connection: Connection,
    actor: Actor,
    *,
    sheet_id: str | None = None,
    item_ref: str | None = None,
) -> frozenset[int]:
    lines = read_revisions.bridging_of(connection, actor.shop_id, passing=BRIDGE_SHARE)
    same = [one for one in lines if (one.sheet_id, one.item_ref) == (sheet_id, item_ref)]
    return frozenset(person for one in same for person in one.due)


def _touched(
    connection: Connection, actor: Actor, what: list[tuple[int, str]], due: frozenset[int]
) -> tuple[Touched, ...]:
    said: dict[int, list[str]] = {}
    for person_id, words in what:
        said.setdefault(person_id, []).append(words)
    return tuple(
        Touched(one.id, one.name, tuple(said[one.id]), one.id in due)
        for one in people_seen(connection, actor)
        if one.id in said
    )


def _answered(connection: Connection, actor: Actor, item_ref: str, team: set[int]) -> int:
    found = evidence_of_change.answered_item(connection, item_ref, actor.shop_id)
    return sum(one.person_id in team for one in found)
