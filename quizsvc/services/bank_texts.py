"""The text of banks: kept as it was written, put together again for export."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.items.banks.bank import Bank
from quizsvc.items.banks.pieces import cut
from quizsvc.items.banks.rewriting import head_text, new_text, stated
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.rules.reviewing import ItemState
from quizsvc.services.house import House
from quizsvc.services.shelf import entry_from
from quizsvc.store import bank_texts
from quizsvc.store.bank_texts import KeptBank, KeptText


@dataclass(frozen=True, slots=True)
class BankFile:
    """A bank as a file to take away."""

    name: str
    text: str
    items: int
    left_out: int  # items without a version of the wished kind


def keep_written(connection: Connection, bank: Bank, text: str) -> None:
    """Keep a bank's opening, and the TOML of those of its versions that are stored without."""
    keep_head(connection, bank, text)
    missing = bank_texts.versions_without_text(connection, bank.id)
    texts = item_texts(bank, text)
    bank_texts.keep_texts(
        connection,
        [
            (missing[entry.id, entry.version], texts[place])
            for place, entry in enumerate(bank.entries)
            if (entry.id, entry.version) in missing
        ],
    )


def keep_head(connection: Connection, bank: Bank, text: str) -> None:
    """Keep what stands before the items of a bank, and what it says to all of them."""
    pieces = cut(text, bank.lines, len(bank.entries))
    said = bank.written.model_dump(mode="json", exclude={"items"}, exclude_defaults=True)
    head = pieces.head if pieces else head_text(said)
    stated = json.dumps(said, ensure_ascii=False)
    bank_texts.keep_head(connection, bank.id, text=head, stated=stated)


def item_texts(bank: Bank, text: str) -> tuple[str, ...]:
    """Return the TOML of each item, with its comments where items are tables of their own."""
    pieces = cut(text, bank.lines, len(bank.entries))
    if pieces is not None:
        return pieces.items
    return tuple(new_text(stated(entry.written)) for entry in bank.entries)


def stated_by(bank: KeptBank) -> dict[str, Any]:
    """Return what a stored bank says to all its items; little where its file was not kept."""
    if bank.stated:
        said: dict[str, Any] = json.loads(bank.stated)
        return said
    return {"schema_version": 1, "id": bank.id, "title": bank.title, "author": "not stated"}


def take_away(house: House, actor: Actor, bank_id: str, *, drafts: bool) -> BankFile:
    """Return the bank as TOML, comments kept: what practice offers, or the newest of everything.

    Raises:
        NotFoundError: there is no such bank for the actor's shop.
    """
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        bank = bank_texts.bank_of(connection, bank_id)
        if bank is None or bank.shop_id not in {None, actor.shop_id}:
            raise NotFoundError("there is no such bank here.", field="bank", value=bank_id)
        kept = bank_texts.texts_of_bank(connection, bank_id)
    chosen = _chosen(kept, drafts=drafts)
    head = bank.text or head_text(stated_by(bank))
    text = "".join([_ended(head), *(_ended(_toml(one)) for one in chosen.values())])
    return BankFile(f"{bank_id}.toml", text, len(chosen), len({k.entry for k in kept} - {*chosen}))


def _chosen(kept: tuple[KeptText, ...], *, drafts: bool) -> dict[str, KeptText]:
    """Return one version for each entry; the versions come oldest first."""
    chosen: dict[str, KeptText] = {}
    for one in kept:
        offered = one.current and one.state == ItemState.APPROVED
        if offered or (drafts and one.state != ItemState.WITHDRAWN):
            chosen[one.entry] = one
    return chosen


def _toml(kept: KeptText) -> str:
    return kept.text or new_text(stated(entry_from(kept.content).written))


def _ended(text: str) -> str:
    return text if not text or text.endswith("\n") else text + "\n"
