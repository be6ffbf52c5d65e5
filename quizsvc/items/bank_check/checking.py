"""`quizsvc bank check`: everything that is wrong with a bank, or with a folder of banks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from quizsvc.errors import InputError
from quizsvc.items.bank_check.duplicates import near_duplicates
from quizsvc.items.bank_check.giveaway import bank_giveaways, giveaways
from quizsvc.items.bank_check.pictures import picture_faults
from quizsvc.items.bank_check.reading import unreadable
from quizsvc.items.bank_check.reasons import reasons_missing
from quizsvc.items.bank_check.safety import cautions_missing
from quizsvc.items.banks.bank import Bank
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.keys import Found, item_fault
from quizsvc.items.banks.loading import file_text, read_bank
from quizsvc.items.banks.schema import AnyItem

# Matters of style, which an author may keep with a reason. Keys, reasons, cautions and pictures
# are not among them.
ACCEPTABLE = ("giveaway-", "near-duplicate", "unreadable")


@dataclass(frozen=True, slots=True)
class Report:
    banks: int
    items: int
    faults: tuple[Fault, ...]


def check_path(path: Path, media: Path | None = None) -> Report:
    """Check a bank file, or every ``*.toml`` of a folder (not of folders in it).

    Pictures are looked for in ``media``; without it in the folder ``media`` beside the file or
    beside the file's folder.

    Raises:
        InputError: there is nothing of that name, or the folder holds no bank.
    """
    files = sorted(path.glob("*.toml")) if path.is_dir() else [path]
    if not files:
        raise InputError(
            "the folder holds no *.toml file.",
            field="path",
            value=str(path),
            remedy="Name a bank file or a folder of them.",
        )
    read = [read_bank(file_text(file), str(file)) for file in files]
    banks = [bank for bank, _ in read if bank is not None]
    faults = [fault for _, found in read for fault in found]
    for bank in banks:
        faults += check_bank(bank, media or media_beside(Path(bank.file)))
    faults += _same_bank_ids(banks)
    faults += _not_accepted(banks, near_duplicates(banks))
    return Report(len(files), sum(len(bank.entries) for bank in banks), tuple(sorted(set(faults))))


def check_bank(bank: Bank, media: Path) -> list[Fault]:
    """Return the findings about each item by itself and about the bank as a whole."""
    faults = list(bank_giveaways(bank))
    for place, item in enumerate(bank.written.items):
        found = list(_findings(bank, item, media))
        faults += [item_fault(bank, place, one) for one in found if not _accepted(item, one[0])]
        faults += [item_fault(bank, place, one) for one in _idle_acceptances(item, found)]
    return faults


def media_beside(file: Path) -> Path:
    """Return where the pictures of a bank file are."""
    beside = file.parent / "media"
    return beside if beside.is_dir() else file.parent.resolve().parent / "media"


def _findings(bank: Bank, item: AnyItem, media: Path) -> Iterator[Found]:
    yield from reasons_missing(item)
    yield from cautions_missing(bank.written, item)
    yield from giveaways(item)
    yield from unreadable(item)
    yield from picture_faults(item, media)


def _accepted(item: AnyItem, check: str) -> bool:
    return check.startswith(ACCEPTABLE) and check in {one.check for one in item.accepted}


def _idle_acceptances(item: AnyItem, found: list[Found]) -> Iterator[Found]:
    """Report acceptances of what may not be accepted, or of what is no longer found."""
    checks = {one[0] for one in found} | {"near-duplicate"}
    for i, one in enumerate(item.accepted):
        where = ("accepted", i, "check")
        if not one.check.startswith(ACCEPTABLE):
            remedy = "Mend the item; only matters of style can be accepted."
            yield "accepted", where, one.check, "this can't be accepted.", remedy
        elif one.check not in checks:
            problem = "nothing of the kind is found any more."
            yield "accepted", where, one.check, problem, "Take the acceptance out."


def _not_accepted(banks: Sequence[Bank], faults: Iterable[Fault]) -> Iterator[Fault]:
    accepted = {
        (bank.file, item.id, one.check)
        for bank in banks
        for item in bank.written.items
        for one in item.accepted
    }
    return (fault for fault in faults if (fault.file, fault.item, fault.check) not in accepted)


def _same_bank_ids(banks: Sequence[Bank]) -> Iterator[Fault]:
    files: dict[str, str] = {}
    for bank in banks:
        if bank.id in files:
            yield Fault(
                file=bank.file,
                line=bank.line("id"),
                check="key-id",
                item="",
                field="id",
                value=bank.id,
                problem=f"the bank in {files[bank.id]} has the same id.",
                remedy="Give each bank its own id.",
            )
        files.setdefault(bank.id, bank.file)
