"""Writing items: checked as they are typed in, every saved state a version of its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.bank_check.checking import ACCEPTABLE, check_bank
from quizsvc.items.banks.bank import Bank, Entry
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.loading import read_bank
from quizsvc.items.banks.putting import bank_item
from quizsvc.items.banks.rewriting import head_text, new_text, rewritten, stated
from quizsvc.items.model import Item
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.rules.reviewing import Deed, ItemState
from quizsvc.scoring.marking import right_words
from quizsvc.services.auditing import note
from quizsvc.services.authored import (
    Checked,
    Draft,
    Finding,
    Preview,
    Saved,
    Solved,
    VersionRow,
)
from quizsvc.services.bank_texts import stated_by
from quizsvc.services.banks import new_version
from quizsvc.services.banks_at_hand import choice_of, require_change
from quizsvc.services.house import House
from quizsvc.services.near_items import near_duplicate
from quizsvc.services.pictures import folder_of
from quizsvc.services.putting import put_item
from quizsvc.store import bank_texts, banks, cards, reviews
from quizsvc.store.reviews import KeptItem

PREVIEW_SEED = 1  # the order in which an author sees options; learners each get their own
SUGGESTED = {
    "topic": "safety",
    "level": "apply",
    "reference": "common practice, no source",
}
Data = dict[str, Any]


def new_draft(
    house: House, actor: Actor, bank_id: str, kind: str, *, like: int | None = None
) -> Draft:
    """Return an empty item of a kind, or a copy of another item, to be written on."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        bank = choice_of(connection, actor, bank_id)
        require_change(bank)
        if like is None:
            return Draft(bank, SUGGESTED | {"kind": kind})
        copied = _entry_of_newest(house, connection, actor, like)
    data = stated(copied.written) | {"version": 1, "id": f"{copied.id}-copy"[:60]}
    if copied.caution and copied.bank != bank_id:
        data |= {"cautions": [], "caution": copied.caution}
    return Draft(bank, data)


def draft_of(house: House, actor: Actor, item_id: int, version: int | None = None) -> Draft:
    """Return a version of an item, the newest unless stated, to be written on."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        item = item_for(connection, actor, item_id)
        bank = choice_of(connection, actor, item.bank_id)
        require_change(bank)
        row = version_in(reviews.versions_of(connection, item_id), version)
        entry = house.shelf.entry(connection, row.id)
    return Draft(bank, stated(entry.written), item_id, row.version, row.state)


def check(house: House, actor: Actor, bank_id: str, data: Data) -> Checked:
    """Return every finding about an item as typed in, and how a learner would see it."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        bank, faults = _read(connection, actor, bank_id, data)
        if bank is None or faults:
            return Checked(tuple(map(grave_finding, faults)), _preview_if_whole(bank, faults))
        findings = style_findings(house, connection, bank)
        findings += near_duplicate(house, connection, actor, bank.entries[0])
    return Checked(findings, preview_of(bank.entries[0]))


def save(
    house: House,
    actor: Actor,
    bank_id: str,
    data: Data,
    *,
    item_id: int | None = None,
    based_on: int | None = None,
    said: str = "",
    now: datetime,
) -> Saved:
    """Store an item as a new version, a draft; what is there stays as it is.

    Saved on a version that is no longer the newest, it is kept beside the newer one, and the
    answer says so.

    Raises:
        InputError: the item can't be used as it is; names the field.
        ConflictError: a new item's id is taken.
    """
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        bank, faults = _read(connection, actor, bank_id, data)
    if bank is None or faults:
        first = faults[0]
        raise InputError(
            first.problem, field=first.field, value=first.value or None, remedy=first.remedy
        )
    with house.write() as connection:
        require_change(choice_of(connection, actor, bank_id))
        item, versions = _place(connection, actor, bank, item_id)
        entry = _numbered(bank.entries[0], versions[0].version + 1 if versions else 1)
        if versions and _same(house.shelf.entry(connection, versions[0].id), entry):
            return Saved(item.id, versions[0].version, unchanged=True)
        _store(connection, actor, item, entry, versions, based_on, said, now)
    overtook = versions[0] if versions and based_on != versions[0].version else None
    return Saved(item.id, entry.version, overtook=overtook)


def item_for(connection: Connection, actor: Actor, item_id: int, *, lock: bool = False) -> KeptItem:
    """Return an item of the actor's shop or a shared one."""
    item = reviews.find_item(connection, item_id, lock=lock)
    if item is None or item.shop_id not in {None, actor.shop_id}:
        raise NotFoundError(
            "there is no such item here.",
            field="item",
            value=item_id,
            remedy="Search for it among the items.",
        )
    return item


def version_in(versions: tuple[VersionRow, ...], version: int | None) -> VersionRow:
    """Return a version by its number, the newest unless stated."""
    for one in versions:
        if version in {None, one.version}:
            return one
    raise NotFoundError(
        "this item has no such version.", field="version", value=version, remedy="Look again."
    )


def preview_of(entry: Entry) -> Preview:
    """Return an entry as a learner sees it, before and after the answer."""
    item = bank_item(entry, PREVIEW_SEED)
    put = put_item(item, token="", seed=PREVIEW_SEED, answered=False)
    return Preview(put, _solved(item))


def style_findings(house: House, connection: Connection, bank: Bank) -> tuple[Finding, ...]:
    """Return the findings about the one item of a bank."""
    names = [entry.written.picture for entry in bank.entries]
    with folder_of(house, connection, names) as media:
        found = check_bank(bank, media)
    return tuple(
        Finding(
            one.check,
            one.field,
            one.problem,
            one.remedy,
            grave=False,
            can_be_kept=one.check.startswith(ACCEPTABLE),
        )
        for one in found
    )


def as_bank(connection: Connection, entry: Entry) -> Bank | None:
    """Return a bank that holds this entry alone, to be checked."""
    kept = bank_texts.bank_of(connection, entry.bank)
    head = stated_by(kept) if kept else {}
    return read_bank(head_text(head) + new_text(stated(entry.written)))[0]


def grave_finding(fault: Fault) -> Finding:
    value = f"{fault.value!r}: " if fault.value else ""
    return Finding(fault.check, fault.field, value + fault.problem, fault.remedy, grave=True)


def _read(
    connection: Connection, actor: Actor, bank_id: str, data: Data
) -> tuple[Bank | None, tuple[Fault, ...]]:
    choice_of(connection, actor, bank_id)
    kept = bank_texts.bank_of(connection, bank_id)
    head = head_text(stated_by(kept)) if kept else ""
    return read_bank(head + new_text(data), f"{bank_id}.toml")


def _preview_if_whole(bank: Bank | None, faults: tuple[Fault, ...]) -> Preview | None:
    if bank is None or any(one.check in {"key-order", "key-name", "key-circle"} for one in faults):
        return None
    return preview_of(bank.entries[0])


def _place(
    connection: Connection, actor: Actor, bank: Bank, item_id: int | None
) -> tuple[KeptItem, tuple[VersionRow, ...]]:
    """Return the item to write to and its versions; a new item's id must be free."""
    entry = bank.entries[0].id
    if item_id is None:
        if reviews.find_entry(connection, bank.id, entry) is not None:
            raise ConflictError(
                "the bank has an item of this id.",
                field="id",
                value=entry,
                remedy="Choose another id, or edit that item.",
            )
        item_id = banks.item_id_of(connection, bank.id, entry)
    item = item_for(connection, actor, item_id, lock=True)
    if (item.bank_id, item.entry) != (bank.id, entry):
        raise InputError(
            "an item keeps its id, so that earlier answers stay with it.",
            field="id",
            value=entry,
            remedy=f"Leave it {item.entry}.",
        )
    return item, reviews.versions_of(connection, item_id)


def _same(old: Entry, new: Entry) -> bool:
    """Return whether nothing at all differs, not even what no learner sees."""
    return old == _numbered(new, old.version)


def _numbered(entry: Entry, version: int) -> Entry:
    return replace(entry, written=entry.written.model_copy(update={"version": version}))


def _store(
    connection: Connection,
    actor: Actor,
    item: KeptItem,
    entry: Entry,
    versions: tuple[VersionRow, ...],
    based_on: int | None,
    said: str,
    now: datetime,
) -> None:
    version_id = banks.add_version(
        connection,
        new_version(entry),
        state=ItemState.DRAFT,
        author=actor.person_id,
        based_on=based_on,
        now=now,
    )
    text = _text(connection, entry, versions, based_on)
    bank_texts.keep_texts(connection, [(version_id, text)])
    reviews.add_note(
        connection,
        item_id=item.id,
        version_id=version_id,
        person_id=actor.person_id,
        deed=Deed.WRITTEN,
        words=" ".join(said.split()),
        now=now,
    )
    cards.refresh(connection, [item.id], now=now)
    subject = f"item {item.id}"
    note(connection, actor, Action.ITEM_WRITTEN, subject, now=now, version=entry.version)


def _text(
    connection: Connection, entry: Entry, versions: tuple[VersionRow, ...], based_on: int | None
) -> str:
    """Return the new version's TOML: that of the version it is based on, changed where needed."""
    for one in versions:
        if one.version == based_on:
            kept = bank_texts.text_of(connection, one.id)
            if kept is not None:
                return rewritten(kept, entry.written)
    return new_text(stated(entry.written))


def _entry_of_newest(house: House, connection: Connection, actor: Actor, item_id: int) -> Entry:
    item_for(connection, actor, item_id)
    return house.shelf.entry(connection, reviews.versions_of(connection, item_id)[0].id)


def _solved(item: Item) -> Solved:
    options = tuple((one.text, one.correct, one.rationale) for one in item.options)
    return Solved(right_words(item), options, item.steps, item.reference)
