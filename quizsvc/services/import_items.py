"""Whole banks taken in: first a report that writes nothing, then the items, as drafts.

Both are work for the background when the file is large. The items go in by the hundred, each
hundred whole; an import that was stopped goes on where it was.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.interchange.qti.report import Note
from quizsvc.items.bank_check.checking import check_bank
from quizsvc.items.banks.bank import Bank, Entry
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.loading import LARGEST_BYTES, read_bank
from quizsvc.items.banks.rewriting import rewritten
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import May, require
from quizsvc.rules.reviewing import Deed
from quizsvc.services.auditing import note
from quizsvc.services.background import JobState, Work, ask_for, job_of, kind_of_work, run_next
from quizsvc.services.bank_texts import item_texts, keep_head
from quizsvc.services.banks import new_version
from quizsvc.services.house import House
from quizsvc.services.interchange import bring_in, is_foreign
from quizsvc.services.pictures import folder_of
from quizsvc.store import bank_texts, banks, cards, jobs, reviews
from quizsvc.store.banks import StoredVersion

AT_ONCE = 100_000  # characters read while the page waits; more go to the background
CHUNK = 250  # items in one transaction, so that answers get in between
MOST_LISTED = 200  # findings on the report
STEPS = 4  # of the report: read, compared, checked, done


@dataclass(frozen=True, slots=True)
class Told:
    """One finding of the report; a ``grave`` one stops the import."""

    line: int
    column: int
    check: str
    item: str
    field: str
    problem: str
    remedy: str
    value: str
    grave: bool


@dataclass(frozen=True, slots=True)
class Report:
    """What an import would do; nothing is written by it."""

    file: str
    bank_id: str = ""
    title: str = ""
    items: int = 0
    new: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    same: int = 0
    findings: tuple[Told, ...] = ()
    found: int = 0  # findings in all, listed or not

    @property
    def usable(self) -> bool:
        return bool(self.items) and not any(one.grave for one in self.findings)

    @property
    def to_write(self) -> int:
        return len(self.new) + len(self.changed)


def ask_for_report(house: House, actor: Actor, *, file: str, content: bytes, now: datetime) -> int:
    """Begin to read a bank file, QTI package or table; return the job that will hold the report.

    Raises:
        InputError: nothing was sent, or it is too large or no text.
    """
    require(actor, May.WRITE_ITEMS)
    notes: tuple[Note, ...] = ()
    if is_foreign(file):
        text, notes = bring_in(house, actor, file, content, now=now)
    else:
        text = _text(file, content)
    told = [asdict(one) | {"problem": one.problem} for one in notes]
    sent = {"file": file, "text": text, "notes": told}
    payload = json.dumps(sent, ensure_ascii=False)
    job_id = ask_for(house, actor, "bank report", payload, total=STEPS, now=now)
    if len(text) <= AT_ONCE:
        run_next(house, lambda: now, job_id=job_id)
    return job_id


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


def report_of(house: House, actor: Actor, job_id: int) -> Report | None:
    """Return the report of a job that has made one."""
    job = job_of(house, actor, job_id)
    if job.kind != "bank report" or job.state is not JobState.DONE:
        return None
    return _report_from(json.loads(job.result))


@kind_of_work("bank report")
def make_report(work: Work) -> str:
    sent = json.loads(work.payload)
    bank, faults = read_bank(sent["text"], sent["file"])
    work.tell(1, STEPS)
    if bank is None:
        return _as_text(_report(sent["file"], None, faults, ()))
    with work.house.read() as connection:
        refused = _refused(connection, work.actor, bank)
        if refused:
            return _as_text(_report(sent["file"], bank, refused, ()))
        plan = tuple(_plan(connection, bank))
        work.tell(2, STEPS)
        names = [entry.written.picture for entry in bank.entries]
        with folder_of(work.house, connection, filter(None, names)) as media:
            style = tuple(check_bank(bank, media))
    work.tell(3, STEPS)
    report = _report(sent["file"], bank, faults, style, plan)
    return _as_text(_with_notes(report, sent.get("notes", [])))


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


def _text(file: str, content: bytes) -> str:
    if not content.strip():
        raise InputError(
            "nothing was sent.", field="file", value=file, remedy="Choose a TOML bank file."
        )
    if len(content) > LARGEST_BYTES:
        raise InputError(
            "the file is too large.",
            field="file",
            value=f"{len(content) / 1e6:.1f} MB",
            remedy=f"Send at most {LARGEST_BYTES // 1024**2} MB; split the bank.",
        )
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(
            f"byte {error.start} is no UTF-8 text.",
            field="file",
            value=file,
            remedy="Save the file as UTF-8.",
        ) from error
    return text.replace("\r\n", "\n")


def _refused(connection: Connection, actor: Actor, bank: Bank) -> tuple[Fault, ...]:
    """Return why the bank can't be written to by the actor; nothing for a new bank."""
    kept = bank_texts.bank_of(connection, bank.id)
    if kept is None:
        return ()
    alone = reviews.count_shops(connection) == 1
    if kept.shop_id == actor.shop_id or (kept.shop_id is None and alone):
        return ()
    return (
        Fault(
            file=bank.file,
            line=bank.line("id"),
            check="key-id",
            item="",
            field="id",
            value=bank.id,
            problem="a bank of this id is not your shop's own.",
            remedy="Give your bank another id.",
        ),
    )


def _plan(connection: Connection, bank: Bank) -> Iterator[tuple[str, Entry]]:
    """Yield "new", "changed" or "same" for each item of the file."""
    stored = _stored(connection, bank.id)
    for entry in bank.entries:
        versions = stored.get(entry.id, [])
        if not versions:
            yield "new", entry
        elif _known(entry, versions):
            yield "same", entry
        else:
            yield "changed", entry


def _stored(
    connection: Connection, bank_id: str, entries: list[str] | None = None
) -> dict[str, list[StoredVersion]]:
    found: dict[str, list[StoredVersion]] = {}
    for one in banks.versions_of_bank(connection, bank_id, entries):
        found.setdefault(one.entry, []).append(one)
    return found


def _report(
    file: str,
    bank: Bank | None,
    grave: tuple[Fault, ...],
    style: tuple[Fault, ...],
    plan: tuple[tuple[str, Entry], ...] = (),
) -> Report:
    told = [*(_told(one, grave=True) for one in grave), *(_told(one, grave=False) for one in style)]
    return Report(
        file=file,
        bank_id=bank.id if bank else "",
        title=bank.title if bank else "",
        items=len(bank.entries) if bank else 0,
        new=tuple(entry.id for what, entry in plan if what == "new"),
        changed=tuple(entry.id for what, entry in plan if what == "changed"),
        same=sum(what == "same" for what, _ in plan),
        findings=tuple(told[:MOST_LISTED]),
        found=len(told),
    )


def _told(fault: Fault, *, grave: bool) -> Told:
    return Told(
        fault.line,
        fault.column,
        fault.check,
        fault.item,
        fault.field,
        fault.problem,
        fault.remedy,
        fault.value,
        grave,
    )


def _with_notes(report: Report, notes: list[dict[str, str]]) -> Report:
    """Put what did not come over from another form before what is found in what did."""
    told = [
        Told(
            line=0,
            column=0,
            check=one["fate"],
            item=one["item"],
            field=one["fate"],
            problem=one["problem"],
            remedy=one["remedy"],
            value="",
            grave=False,
        )
        for one in notes
    ]
    listed = (*told, *report.findings)[:MOST_LISTED]
    return replace(report, findings=listed, found=report.found + len(told))


def _as_text(report: Report) -> str:
    return json.dumps(asdict(report), ensure_ascii=False)


def _report_from(data: dict[str, Any]) -> Report:
    findings = tuple(Told(**one) for one in data.pop("findings"))
    new, changed = tuple(data.pop("new")), tuple(data.pop("changed"))
    return Report(**data, new=new, changed=changed, findings=findings)


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
        if _refused(connection, work.actor, bank):
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
    stored = _stored(connection, bank.id, [entry.id for _, entry in entries])
    fresh = [
        _next_version(entry, texts[place], stored.get(entry.id, []))
        for place, entry in entries
        if not _known(entry, stored.get(entry.id, []))
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


def _known(entry: Entry, versions: list[StoredVersion]) -> bool:
    return any(one.content_hash == entry.content_hash for one in versions)


def _next_version(
    entry: Entry, text: str, versions: list[StoredVersion]
) -> tuple[Entry, str, int | None]:
    """Return the entry under a version number that is free, and the version before it."""
    before = max((one.version for one in versions), default=None)
    if before is not None and entry.version <= before:
        entry = replace(entry, written=entry.written.model_copy(update={"version": before + 1}))
        text = rewritten(text, entry.written)
    return entry, text, before
