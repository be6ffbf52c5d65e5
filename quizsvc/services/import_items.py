"""The items of a whole bank taken in, as drafts, after a report.

The items go in by the hundred, each hundred whole; an import that was stopped goes on where it was.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Connection

from quizsvc.errors import ConflictError
from quizsvc.items.banks.bank import Bank, Entry
from quizsvc.items.banks.loading import read_bank
from quizsvc.items.banks.rewriting import rewritten
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.reviewing import Deed
from quizsvc.services.auditing import note
from quizsvc.services.background import Work, ask_for, kind_of_work, run_next
from quizsvc.services.bank_texts import item_texts, keep_head
from quizsvc.services.banks import new_version
from quizsvc.services.house import House
from quizsvc.services.import_report import known_entries, refused_import, report_of, stored_entries
from quizsvc.store import bank_texts, banks, cards, jobs, reviews
from quizsvc.store.banks import StoredVersion

CHUNK = 250  # items in one transaction, so that answers get in between


def ask_for_import(house: House, actor: Actor, report_id: int, *, now: datetime) -> int:
    """Begin to write what a report told; return the job that does it.

    Raises:
        ConflictError: the report is not there yet, or says that the file can't be used.
    """
    report = report_of(house, actor, report_id)
    if report is None or not report.usable or not report.to_write:
        raise ConflictError(
            "there is nothing to write by this report.",
            field="report",
            value=report_id,
            remedy="Send a bank file that can be used, then look at its report.",
        )
    payload = json.dumps({"report": report_id})
    job_id = ask_for(house, actor, "bank import", payload, total=report.items, now=now)
    if report.items <= CHUNK:
        run_next(house, lambda: now, job_id=job_id)
    return job_id


@kind_of_work("bank import")
def write_items(work: Work) -> str:
    bank, text = _reported(work)
    entries = list(enumerate(bank.entries))
    texts, written = item_texts(bank, text), 0
    with work.house.write() as connection:
        _begin_bank(connection, work, bank, text)
    for start in range(0, len(entries), CHUNK):
        with work.house.write() as connection:
            written += _write_chunk(connection, work, bank, entries[start : start + CHUNK], texts)
        work.tell(min(start + CHUNK, len(entries)), len(entries))
    with work.house.write() as connection:
        subject = f"bank {bank.id}"
        note(connection, work.actor, Action.BANK_LOADED, subject, now=work.clock(), drafts=written)
    return json.dumps({"bank": bank.id, "written": written})


def _reported(work: Work) -> tuple[Bank, str]:
    report_id = json.loads(work.payload)["report"]
    with work.house.read() as connection:
        sent = json.loads(jobs.payload_of(connection, report_id))
    bank, faults = read_bank(sent["text"], sent["file"])
    if bank is None or faults:
        raise ConflictError("the file can't be used.", remedy="Look at its report.")
    return bank, sent["text"]


def _begin_bank(connection: Connection, work: Work, bank: Bank, text: str) -> None:
    """Store the bank and its opening; a bank that is there keeps its shop."""
    now = work.clock()
    if bank_texts.bank_of(connection, bank.id) is None:
        banks.add_bank(connection, bank.id, bank.title, shop_id=work.actor.shop_id, now=now)
    else:
        if refused_import(connection, work.actor, bank):
            raise ConflictError("the bank is not your shop's own.", remedy="Give it another id.")
        banks.add_bank(connection, bank.id, bank.title, shop_id=None, now=now)
    keep_head(connection, bank, text)


def _write_chunk(
    connection: Connection,
    work: Work,
    bank: Bank,
    entries: list[tuple[int, Entry]],
    texts: tuple[str, ...],
) -> int:
    """Write those of the entries that are not stored yet; return how many they were."""
    stored = stored_entries(connection, bank.id, [entry.id for _, entry in entries])
    fresh = [
        _next_version(entry, texts[place], stored.get(entry.id, []))
        for place, entry in entries
        if not known_entries(entry, stored.get(entry.id, []))
    ]
    if not fresh:
        return 0
    now, person_id = work.clock(), work.job.person_id
    drafts = [(new_version(entry), based_on) for entry, _, based_on in fresh]
    keys = banks.add_drafts(connection, drafts, author=person_id, now=now)
    ours = [keys[entry.id, entry.version] for entry, _, _ in fresh]
    written = zip(ours, (text for _, text, _ in fresh), strict=True)
    bank_texts.keep_texts(connection, [(version_id, text) for (_, version_id), text in written])
    reviews.add_notes(connection, ours, person_id=person_id, deed=Deed.IMPORTED, now=now)
    cards.refresh(connection, [item_id for item_id, _ in ours], now=now)
    return len(fresh)


def _next_version(
    entry: Entry, text: str, versions: list[StoredVersion]
) -> tuple[Entry, str, int | None]:
    """Return the entry under a version number that is free, and the version before it."""
    before = max((one.version for one in versions), default=None)
    if before is not None and entry.version <= before:
        entry = replace(entry, written=entry.written.model_copy(update={"version": before + 1}))
        text = rewritten(text, entry.written)
    return entry, text, before
