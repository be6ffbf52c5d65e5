"""A bank as the rest of the program sees it: entries that know their bank, with whole cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256

from quizsvc.errors import NotFoundError
from quizsvc.items.banks.lines import Path, line_of
from quizsvc.items.banks.schema import AnyItem, WrittenBank


@dataclass(frozen=True, slots=True)
class Entry:
    """One hand-written item; `quizsvc.items.banks.putting.bank_item` makes an `Item` of it."""

    bank: str
    written: AnyItem
    author: str
    caution: str  # the bank's opening sentence, its named cautions and the item's own, joined

    @property
    def id(self) -> str:
        return self.written.id

    @property
    def family(self) -> str:
        return f"bank:{self.bank}/{self.id}"

    @property
    def version(self) -> int:
        return self.written.version

    @property
    def content_hash(self) -> str:
        """Return a hash that changes whenever anything a person sees or is marked by changes."""
        shown = self.written.model_dump_json(
            exclude={"version", "accepted", "tags"}, exclude_defaults=True
        )
        return sha256(f"{shown}\x1f{self.caution}\x1f{self.author}".encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Bank:
    """One bank, with the line in its file on which each thing stands."""

    id: str
    title: str
    about: str
    author: str
    entries: tuple[Entry, ...]
    written: WrittenBank = field(repr=False)
    file: str = ""
    lines: Mapping[Path, int] = field(default_factory=dict, repr=False, compare=False)

    def entry(self, entry_id: str) -> Entry:
        for one in self.entries:
            if one.id == entry_id:
                return one
        raise NotFoundError(f"bank {self.id} has no such item.", field="item", value=entry_id)

    def line(self, *path: str | int) -> int:
        return line_of(self.lines, path)


def bank_of(written: WrittenBank, file: str, lines: Mapping[Path, int]) -> Bank:
    """Give each item what it takes over from its bank."""
    return Bank(
        id=written.id,
        title=written.title,
        about=written.about,
        author=written.author,
        entries=tuple(
            Entry(written.id, item, item.author or written.author, whole_caution(written, item))
            for item in written.items
        ),
        written=written,
        file=file,
        lines=lines,
    )


def whole_caution(bank: WrittenBank, item: AnyItem) -> str:
    """Return the item's caution, opened by the bank's first sentence; empty if it has none."""
    own = [bank.cautions.get(name, "") for name in item.cautions] + [item.caution]
    said = [" ".join(text.split()) for text in own if text.strip()]
    first = " ".join(bank.caution_first.split())
    return " ".join(filter(None, [first, *said])) if said else ""
