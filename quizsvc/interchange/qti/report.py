"""What an import tells of each thing that did not come over as it stood: what, why, what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from quizsvc.items.banks.schema import WrittenBank
from quizsvc.items.model import Level


class Fate(StrEnum):
    LEFT_OUT = "left out"  # the whole item did not come over
    LOST = "not kept"  # the item came over without this
    CHANGED = "changed"  # it came over in another form
    FILLED = "filled in"  # the source does not say; a value was put there


@dataclass(frozen=True, slots=True)
class Note:
    """One thing that did not come over as it stood."""

    fate: Fate
    item: str  # identifier in the source; "" for the whole package
    what: str
    why: str
    remedy: str

    @property
    def problem(self) -> str:
        """Return what and why as one sentence."""
        return f"{self.what.rstrip('.:')}: {self.why}"

    def __str__(self) -> str:
        return f"{self.item or 'package'}: {self.fate}: {self.problem} {self.remedy}"


@dataclass(frozen=True, slots=True)
class Filling:
    """What is put where a foreign package says nothing."""

    bank_id: str = ""  # else from the package
    author: str = "imported"
    topic: str = "procedure"
    level: Level = Level.RECALL
    reference: str = "not stated by the imported package"


@dataclass(frozen=True, slots=True)
class Imported:
    """A bank read from outside, its pictures by name, and all there is to tell."""

    bank: WrittenBank | None  # None where no item could be brought over
    items_found: int
    pictures: Mapping[str, bytes] = field(default_factory=dict, repr=False)
    notes: tuple[Note, ...] = ()

    @property
    def items_kept(self) -> int:
        return len(self.bank.items) if self.bank else 0


LONGEST = 160


def shortened(text: str, longest: int = LONGEST) -> str:
    """Return a text that fits on a line of the report.

    >>> shortened("abcdef", 4)
    'abc…'
    """
    plain = " ".join(text.split())
    return plain if len(plain) <= longest else plain[: longest - 1] + "…"
