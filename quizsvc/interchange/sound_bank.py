"""A bank of those imported items whose keys can be marked; the others are told, each with why."""

from __future__ import annotations

from quizsvc.interchange.qti.report import Fate, Note
from quizsvc.items.banks.bank import bank_of
from quizsvc.items.banks.keys import key_faults
from quizsvc.items.banks.schema import WrittenBank


def sound_bank(bank: WrittenBank) -> tuple[WrittenBank | None, tuple[Note, ...]]:
    """Return the bank without the items that loading would refuse, None if none is left."""
    faults = {fault.item: fault for fault in reversed(key_faults(bank_of(bank, "", {})))}
    notes = tuple(
        Note(
            Fate.LEFT_OUT,
            fault.item,
            f"its {fault.field} {fault.value}".strip() + ":",
            fault.problem,
            fault.remedy,
        )
        for fault in faults.values()
    )
    if not faults:
        return bank, ()
    sound = tuple(item for item in bank.items if item.id not in faults)
    return (bank.model_copy(update={"items": sound}) if sound else None), notes
