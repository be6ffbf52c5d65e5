"""Which banks an author works in, and which of them they may change."""

from __future__ import annotations

import json
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, NotAllowedError, NotFoundError
from quizsvc.items.banks.fault import refusal
from quizsvc.items.banks.loading import read_bank
from quizsvc.items.banks.rewriting import head_text, new_text
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, may_change_bank, require
from quizsvc.services.auditing import note
from quizsvc.services.authored import BankChoice
from quizsvc.services.bank_texts import stated_by
from quizsvc.services.house import House
from quizsvc.store import bank_texts, banks, reviews
from quizsvc.store.bank_texts import KeptBank

_A_SOUND_ITEM = {
    "id": "placeholder",
    "topic": "safety",
    "level": "recall",
    "kind": "one choice",
    "prompt": "Only here to see whether the bank is sound?",
    "reference": "none",
    "options": [{"text": "Yes", "correct": True}, {"text": "No"}],
}


def choices(house: House, actor: Actor) -> tuple[BankChoice, ...]:
    """Return the banks of the actor's shop and the shared ones."""
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        found = bank_texts.banks_for(connection, actor.shop_id)
        alone = reviews.count_shops(connection) == 1
    return tuple(_choice(actor, one, alone=alone) for one in found)


def choice_of(connection: Connection, actor: Actor, bank_id: str) -> BankChoice:
    """Return a bank of the actor's shop or a shared one.

    Raises:
        NotFoundError: there is none, or it is another shop's.
    """
    found = bank_texts.bank_of(connection, bank_id)
    if found is None or found.shop_id not in {None, actor.shop_id}:
        raise NotFoundError(
            "there is no such bank here.",
            field="bank",
            value=bank_id[:80],
            remedy="Choose one of those on the page, or make one.",
        )
    return _choice(actor, found, alone=reviews.count_shops(connection) == 1)


def require_change(bank: BankChoice) -> None:
    """Refuse changes to a bank that several shops share."""
    if not bank.may_change:
        raise NotAllowedError(
            "this bank is shared by several shops, so nobody changes it alone.",
            remedy="Take a copy of the item into a bank of your own shop.",
        )


def make_bank(
    house: House, actor: Actor, *, bank_id: str, title: str, about: str, now: datetime
) -> None:
    """Make an empty bank of the actor's shop.

    Raises:
        InputError: the id or the title is not of the right form.
        ConflictError: there is a bank of this id.
    """
    require(actor, May.WRITE_ITEMS)
    said = {"schema_version": 1, "id": bank_id, "title": title, "author": actor.name}
    if about.strip():
        said["about"] = about.strip()
    _, faults = read_bank(head_text(said) + new_text(_A_SOUND_ITEM), "new bank")
    if faults:
        raise refusal(faults)
    with house.write() as connection:
        if bank_texts.bank_of(connection, bank_id) is not None:
            raise ConflictError(
                "there is a bank of this id.", field="id", value=bank_id, remedy="Choose another."
            )
        banks.add_bank(connection, bank_id, title, shop_id=actor.shop_id, now=now)
        stated = json.dumps(said, ensure_ascii=False)
        bank_texts.keep_head(connection, bank_id, text=head_text(said), stated=stated)
        note(connection, actor, Action.BANK_MADE, f"bank {bank_id}", now=now)


def _choice(actor: Actor, bank: KeptBank, *, alone: bool) -> BankChoice:
    return BankChoice(
        id=bank.id,
        title=bank.title,
        shared=bank.shop_id is None,
        may_change=may_change_bank(actor, bank.shop_id, only_shop=alone),
        cautions=tuple(stated_by(bank).get("cautions", {}).items()),
    )
