"""What never changes once stored, read and parsed once per process: sheets and bank items."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import Generic, TypeVar

from pydantic import TypeAdapter
from sqlalchemy import Connection

from quizsvc.items.banks.bank import Entry
from quizsvc.items.banks.schema import AnyItem
from quizsvc.sheets.loading import load_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.store import banks, sheets

SHEETS_KEPT = 200  # a parsed sheet takes some 100 kB
ENTRIES_KEPT = 5000
_ANY_ITEM: TypeAdapter[AnyItem] = TypeAdapter(AnyItem)
T = TypeVar("T")


class Kept(Generic[T]):
    """A bounded memory of what was read, the longest unused dropped first; safe for threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._things: OrderedDict[int, T] = OrderedDict()
        self._lock = Lock()

    def get(self, key: int, read: Callable[[], T]) -> T:
        with self._lock:
            if key in self._things:
                self._things.move_to_end(key)
                return self._things[key]
        thing = read()  # two threads may both read it; that is cheaper than waiting
        with self._lock:
            self._things[key] = thing
            while len(self._things) > self._most:
                self._things.popitem(last=False)
        return thing


class Shelf:
    """Sheets and bank entries by the key of their stored revision or version."""

    def __init__(self) -> None:
        self._sheets: Kept[EngineSheet] = Kept(SHEETS_KEPT)
        self._entries: Kept[Entry] = Kept(ENTRIES_KEPT)
        self._unfit: set[tuple[str, int]] = set()

    def sheet(self, connection: Connection, revision_id: int) -> EngineSheet:
        return self._sheets.get(
            revision_id, lambda: load_sheet(sheets.toml_of(connection, revision_id))
        )

    def entry(self, connection: Connection, version_id: int) -> Entry:
        return self._entries.get(
            version_id, lambda: entry_from(banks.content_of(connection, version_id))
        )

    def fits(self, family_id: str, revision_id: int) -> bool:
        """Return False once the family was found to have nothing to ask about the sheet."""
        return (family_id, revision_id) not in self._unfit

    def note_unfit(self, family_id: str, revision_id: int) -> None:
        self._unfit.add((family_id, revision_id))


def entry_text(entry: Entry) -> str:
    """Return a bank entry as the JSON that is stored."""
    return json.dumps(
        {
            "bank": entry.bank,
            "author": entry.author,
            "caution": entry.caution,
            "item": entry.written.model_dump(mode="json"),
        },
        ensure_ascii=False,
        sort_keys=True,
    )


def entry_from(text: str) -> Entry:
    """Return the bank entry that was stored as this JSON."""
    data = json.loads(text)
    return Entry(
        bank=data["bank"],
        written=_ANY_ITEM.validate_python(data["item"], strict=False),
        author=data["author"],
        caution=data["caution"],
    )
