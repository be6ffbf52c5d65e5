"""Banks carried elsewhere and brought from elsewhere: QTI 3.0 packages and tables (CSV).

What is brought in becomes the text of a bank file, which then goes the way of every bank file:
first a report, then drafts that another instructor approves. Pictures are kept at once, drawn
anew; nobody sees them before an approved item shows them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.errors import InputError, QuizsvcError
from quizsvc.interchange.bank_csv import export_csv, import_csv
from quizsvc.interchange.bank_toml import bank_text
from quizsvc.interchange.qti.names import name_of
from quizsvc.interchange.qti.package import export_package, import_package
from quizsvc.interchange.qti.report import Fate, Filling, Imported, Note
from quizsvc.items.banks.fault import refusal
from quizsvc.items.banks.loading import read_bank
from quizsvc.items.banks.schema import AnyItem, PointItem, WrittenBank
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.bank_texts import take_away
from quizsvc.services.house import House
from quizsvc.services.pictures import SentPicture, keep_picture, picture_bytes

MOST_ITEMS = 1000  # read while the page waits, some two seconds; more by the command line
FORMS = ("zip", "csv")
_TYPES = {"zip": "application/zip", "csv": "text/csv; charset=utf-8"}


@dataclass(frozen=True, slots=True)
class CarriedBank:
    """A bank as a file of another form."""

    name: str
    content: bytes
    mimetype: str


def carry_away(house: House, actor: Actor, bank_id: str, form: str, *, drafts: bool) -> CarriedBank:
    """Return the bank as a QTI package ("zip") or a table of its choices ("csv").

    Raises:
        NotFoundError: there is no such bank for the actor's shop.
        InputError: it has no items of the wished kind, or one can't be written.
    """
    file = take_away(house, actor, bank_id, drafts=drafts)
    if not file.items:
        raise InputError(
            "the bank has no items to export.",
            field="bank",
            value=bank_id,
            remedy="Export with drafts, or have items approved first.",
        )
    bank, faults = read_bank(file.text, file.name)
    if bank is None or faults:
        raise refusal(faults)
    if form == "csv":
        content = export_csv(bank.written)[0].encode("utf-8-sig")
    else:
        content = export_package(bank.written, lambda name: picture_bytes(house, name))
    return CarriedBank(f"{bank_id}.{form}", content, _TYPES[form])


def is_foreign(file: str) -> bool:
    """Return whether a file's name says that it is of another form than TOML."""
    return file.casefold().endswith((".zip", ".csv"))


def bring_in(
    house: House, actor: Actor, file: str, content: bytes, *, now: datetime
) -> tuple[str, tuple[Note, ...]]:
    """Return a package or table as the text of a bank file, and what did not come over.

    Raises:
        InputError: it can't be read, holds too many items, or none that can be brought over.
    """
    require(actor, May.WRITE_ITEMS)
    imported = _read(actor, file, content)
    if imported.bank is None:
        raise _nothing(imported, file)
    names, notes = _kept_pictures(house, actor, imported, now)
    items = tuple(_renamed(item, names) for item in imported.bank.items)
    kept = tuple(item for item in items if item is not None)
    notes = (*imported.notes, *notes)
    if not kept:
        raise _nothing(Imported(None, imported.items_found, notes=notes), file)
    return bank_text(imported.bank.model_copy(update={"items": kept})), notes


def _read(actor: Actor, file: str, content: bytes) -> Imported:
    stem = file.rpartition("/")[2].rpartition(".")[0]
    if file.casefold().endswith(".csv"):
        filling = Filling(bank_id=name_of(stem), author=actor.name)
        return import_csv(content, filling, _within)
    return import_package(content, Filling(author=actor.name), _within)


def _within(_done: int, total: int) -> None:
    if total > MOST_ITEMS:
        raise InputError(
            f"it holds more than {MOST_ITEMS} items.",
            field="file",
            value=f"{total} items",
            remedy="Bring it in by “quizsvc bank import” at the command line, then as TOML.",
        )


def _kept_pictures(
    house: House, actor: Actor, imported: Imported, now: datetime
) -> tuple[dict[str, str], tuple[Note, ...]]:
    """Keep the pictures; return the name each gets here, "" where it can't be kept."""
    bank: WrittenBank | None = imported.bank
    names: dict[str, str] = {}
    notes: list[Note] = []
    for item in bank.items if bank else ():
        if not item.picture or item.picture in names:
            continue
        content = imported.pictures.get(item.picture, b"")
        sent = SentPicture(item.picture.rpartition(".")[0], content, item.picture_alt)
        try:
            names[item.picture] = keep_picture(house, actor, sent, now=now)
        except QuizsvcError as error:
            names[item.picture] = ""
            fate = Fate.LEFT_OUT if isinstance(item, PointItem) else Fate.LOST
            what = f"the picture {item.picture}."
            notes.append(Note(fate, item.id, what, error.problem, error.remedy or ""))
    return names, tuple(notes)


def _renamed(item: AnyItem, names: dict[str, str]) -> AnyItem | None:
    """Return the item with its picture's name here; None where it can't do without."""
    if not item.picture:
        return item
    name = names[item.picture]
    if not name and isinstance(item, PointItem):
        return None
    alt = item.picture_alt if name else ""
    return item.model_copy(update={"picture": name, "picture_alt": alt})


def _nothing(imported: Imported, file: str) -> InputError:
    first = next((str(note) for note in imported.notes if note.fate is Fate.LEFT_OUT), "")
    return InputError(
        f"none of its {imported.items_found} items can be brought over. {first}".strip(),
        field="file",
        value=file,
        remedy="Mend that in the source, then send it again.",
    )
