"""A bank as the TOML file that it would be written by hand as."""

from __future__ import annotations

from quizsvc.items.banks.rewriting import head_text, new_text, stated
from quizsvc.items.banks.schema import WrittenBank


def bank_text(bank: WrittenBank) -> str:
    """Return the text of a bank file that reads as this bank."""
    said = bank.model_dump(mode="json", exclude={"items"}, exclude_defaults=True)
    return head_text(said) + "".join(new_text(stated(item)) for item in bank.items)
