"""Review: a version on its way from draft to what practice offers, and an item's whole page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.banks.difference import differences
from quizsvc.items.banks.key_change import key_changed, same_question
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.rules.reviewing import (
    Deed,
    ItemState,
    possible,
    require_second_person,
    state_after,
    wrote,
)
from quizsvc.services import remark
from quizsvc.services.auditing import note
from quizsvc.services.authored import (
    BankChoice,
    Difference,
    Finding,
    ItemPage,
    KeyCorrection,
    Use,
    VersionRow,
)
from quizsvc.services.banks_at_hand import choice_of, require_change
from quizsvc.services.house import House
from quizsvc.services.near_items import near_duplicate
from quizsvc.services.write_items import (
    as_bank,
    item_for,
    preview_of,
    style_findings,
    version_in,
)
from quizsvc.store import cards, remarks, reviews, sat_questions, sitting_marks
from quizsvc.store.remarks import Cause
from quizsvc.store.reviews import KeptItem

LONGEST_WORDS = 4000
_ACTIONS = {
    Deed.SENT: Action.ITEM_SENT,
    Deed.RETURNED: Action.ITEM_RETURNED,
    Deed.APPROVED: Action.ITEM_APPROVED,
    Deed.WITHDRAWN: Action.ITEM_WITHDRAWN,
}
_NEEDS_WORDS = {Deed.RETURNED, Deed.WITHDRAWN, Deed.COMMENTED}


@dataclass(frozen=True, slots=True)
class Decision:
    """What somebody does with a version. ``mark_again``: answers already given are marked anew."""

    deed: Deed
    version: int
    words: str = ""
    mark_again: bool = False


def item_page(house: House, actor: Actor, item_id: int, version: int | None = None) -> ItemPage:
    """Return all there is about an item, one of its versions shown as a learner sees it."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        item = item_for(connection, actor, item_id)
        bank = choice_of(connection, actor, item.bank_id)
        versions = reviews.versions_of(connection, item_id)
        shown = version_in(versions, version)
        return _page(house, connection, actor, item, bank, versions, shown)


def difference(house: House, actor: Actor, item_id: int, before: int, after: int) -> Difference:
    """Return what differs between two versions of an item."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        item = item_for(connection, actor, item_id)
        versions = reviews.versions_of(connection, item_id)
        old, new = version_in(versions, before), version_in(versions, after)
        entries = [house.shelf.entry(connection, one.id) for one in (old, new)]
    fields = differences(entries[0].written, entries[1].written)
    return Difference(item_id, item.entry, old, new, fields)


def decide(
    house: House, actor: Actor, item_id: int, decision: Decision, *, now: datetime
) -> int | None:
    """Do something with a version; return the remark it led to, if answers are marked again.

    Raises:
        NotAllowedError: whoever wrote a part of it would approve it.
        ConflictError: the version is not in a state for this.
        InputError: findings stand in the way, or words are missing.
    """
    require(actor, May.WRITE_ITEMS)
    words = _words(decision)
    with house.write() as connection:
        item = item_for(connection, actor, item_id, lock=True)
        require_change(choice_of(connection, actor, item.bank_id))
        versions = reviews.versions_of(connection, item_id)
        version = version_in(versions, decision.version)
        remark_id = _apply(house, connection, actor, item, versions, version, decision, now)
        reviews.add_note(
            connection,
            item_id=item_id,
            version_id=version.id,
            person_id=actor.person_id,
            deed=decision.deed,
            words=words,
            now=now,
        )
        cards.refresh(connection, [item_id], now=now)
    if remark_id is not None:
        remark.begin(house, actor, remark_id, now=now)
    return remark_id


def _apply(
    house: House,
    connection: Connection,
    actor: Actor,
    item: KeptItem,
    versions: tuple[VersionRow, ...],
    version: VersionRow,
    decision: Decision,
    now: datetime,
) -> int | None:
    deed = decision.deed
    if deed is Deed.COMMENTED:
        return None
    state = state_after(deed, version.state)
    if deed is Deed.SENT:
        _refuse_findings(_findings(house, connection, actor, version))
    if deed is Deed.APPROVED:
        require_second_person(actor.person_id, _writers(versions, version))
    reviewer = actor.person_id if deed is Deed.APPROVED else None
    reviews.set_state(connection, version.id, state, reviewer=reviewer)
    if deed is Deed.APPROVED:
        reviews.make_current(connection, item.id, version.id)
    subject = f"item {item.id}"
    note(connection, actor, _ACTIONS[deed], subject, now=now, version=version.version)
    if not decision.mark_again or deed not in {Deed.APPROVED, Deed.WITHDRAWN}:
        return None
    cause = Cause.KEY_CORRECTED if deed is Deed.APPROVED else Cause.FAULTY
    return remarks.add_remark(
        connection,
        item_id=item.id,
        version_id=version.id,
        cause=cause,
        person_id=actor.person_id,
        why=_words(decision) or cause.value,
        now=now,
    )


def _page(
    house: House,
    connection: Connection,
    actor: Actor,
    item: KeptItem,
    bank: BankChoice,
    versions: tuple[VersionRow, ...],
    shown: VersionRow,
) -> ItemPage:
    offered = next((one for one in versions if one.current), None)
    item_ref = f"bank:{item.bank_id}/{item.entry}"
    wrote_it = wrote(actor.person_id, _writers(versions, shown))
    return ItemPage(
        item_id=item.id,
        item_ref=item_ref,
        bank=bank,
        entry=item.entry,
        shown=shown,
        newest=versions[0],
        offered=offered,
        versions=versions,
        preview=preview_of(house.shelf.entry(connection, shown.id)),
        findings=_findings(house, connection, actor, shown),
        history=reviews.notes_of(connection, item.id),
        deeds=_deeds(bank, shown, wrote_it=wrote_it),
        wrote_it=wrote_it,
        use=_use(connection, item_ref),
        remarks=remarks.remarks_of(connection, item.id),
        tests_waiting=sat_questions.count_waiting(
            connection, actor.shop_id, item_ref, offered.id if offered else None
        ),
        tests_again=sitting_marks.deeds_on(connection, actor.shop_id, item.id),
        key_correction=_key_correction(house, connection, item, offered, shown),
        beside=tuple(
            one
            for one in versions
            if one.based_on == shown.based_on and one is not shown and one.based_on is not None
        ),
    )


def _deeds(bank: BankChoice, shown: VersionRow, *, wrote_it: bool) -> frozenset[Deed]:
    if not bank.may_change:
        return frozenset()
    return possible(shown.state) - ({Deed.APPROVED} if wrote_it else set())


def _use(connection: Connection, item_ref: str) -> Use:
    used = cards.use_of(connection, [item_ref]).get(item_ref)
    if used is None:
        return Use(0, None, None)
    return Use(used.answers, used.right_share, used.last_at)


def _key_correction(
    house: House,
    connection: Connection,
    item: KeptItem,
    offered: VersionRow | None,
    shown: VersionRow,
) -> KeyCorrection | None:
    """Return what approving the version would do to answers given to the one offered now."""
    if offered is None or shown.state is not ItemState.IN_REVIEW:
        return None
    old = house.shelf.entry(connection, offered.id).written
    new = house.shelf.entry(connection, shown.id).written
    if not key_changed(old, new):
        return None
    answered = remarks.answered(connection, item.id)
    people = {one.offer.person_id for one in answered}
    return KeyCorrection(len(answered), len(people), same_question(old, new))


def _writers(versions: tuple[VersionRow, ...], version: VersionRow) -> set[int | None]:
    """Return who wrote what is new in a version since the last approved one before it."""
    found: set[int | None] = set()
    for one in versions:
        if one.version > version.version:
            continue
        if one.state is ItemState.APPROVED and one is not version:
            break
        found.add(one.author_id)
    return found


def _findings(
    house: House, connection: Connection, actor: Actor, version: VersionRow
) -> tuple[Finding, ...]:
    entry = house.shelf.entry(connection, version.id)
    bank = as_bank(connection, entry)
    style = style_findings(house, connection, bank) if bank else ()
    return (*style, *near_duplicate(house, connection, actor, entry))


def _refuse_findings(findings: tuple[Finding, ...]) -> None:
    if findings:
        first = findings[0]
        more = f" ({len(findings) - 1} more stand on the page.)" if findings[1:] else ""
        raise InputError(first.problem, field=first.field, remedy=first.remedy + more)


def _words(decision: Decision) -> str:
    words = decision.words.strip()
    if decision.deed in _NEEDS_WORDS and not words:
        raise InputError(
            "nothing is said.",
            field="words",
            value="",
            remedy="Say why, so that the next person understands it.",
        )
    if len(words) > LONGEST_WORDS:
        raise InputError(
            f"at most {LONGEST_WORDS} characters are kept.",
            field="words",
            value=f"{len(words)} characters",
            remedy="Say it shorter.",
        )
    return words
