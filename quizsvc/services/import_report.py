"""What a bank would bring: a report that writes nothing.

Work for the background when the file is large.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.interchange.qti.report import Note
from quizsvc.items.bank_check.checking import check_bank
from quizsvc.items.banks.bank import Bank, Entry
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.loading import LARGEST_BYTES, read_bank
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.background import JobState, Work, ask_for, job_of, kind_of_work, run_next
from quizsvc.services.house import House
from quizsvc.services.interchange import bring_in, is_foreign
from quizsvc.services.pictures import folder_of
from quizsvc.store import bank_texts, banks, reviews
from quizsvc.store.banks import StoredVersion

AT_ONCE = 100_000  # characters read while the page waits; more go to the background
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
        refused = refused_import(connection, work.actor, bank)
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


def refused_import(connection: Connection, actor: Actor, bank: Bank) -> tuple[Fault, ...]:
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
    stored = stored_entries(connection, bank.id)
    for entry in bank.entries:
        versions = stored.get(entry.id, [])
        if not versions:
            yield "new", entry
        elif known_entries(entry, versions):
            yield "same", entry
        else:
            yield "changed", entry


def stored_entries(
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


def known_entries(entry: Entry, versions: list[StoredVersion]) -> bool:
    return any(one.content_hash == entry.content_hash for one in versions)
