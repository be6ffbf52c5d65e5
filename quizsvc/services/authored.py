"""What authors and reviewers are shown: plain values between the services and the web."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from quizsvc.items.banks.difference import Differing
from quizsvc.rules.reviewing import Deed, ItemState
from quizsvc.services.shown import OpenItem
from quizsvc.store.remarks import RemarkRow
from quizsvc.store.reviews import NoteRow, VersionRow
from quizsvc.store.sitting_marks import RemarkDeed

__all__ = ["NoteRow", "RemarkRow", "VersionRow"]


@dataclass(frozen=True, slots=True)
class Finding:
    """What is wrong with an item; ``grave`` findings make it unusable, the others are of style.

    ``field`` is named as on the form: "option 1 text". ``can_be_kept`` says whether the author
    may keep it with a reason.
    """

    check: str
    field: str
    problem: str
    remedy: str
    grave: bool
    can_be_kept: bool = False


@dataclass(frozen=True, slots=True)
class BankChoice:
    """A bank an author may write into, and the cautions its items can name."""

    id: str
    title: str
    shared: bool
    may_change: bool
    cautions: tuple[tuple[str, str], ...]  # name, words


@dataclass(frozen=True, slots=True)
class Solved:
    """What a learner is told after the answer."""

    right_words: str
    options: tuple[tuple[str, bool, str], ...]  # text, right, why
    steps: tuple[Any, ...]
    reference: str


@dataclass(frozen=True, slots=True)
class Preview:
    put: OpenItem
    solved: Solved


@dataclass(frozen=True, slots=True)
class Checked:
    findings: tuple[Finding, ...]
    preview: Preview | None  # None where the item can't be put to anybody

    @property
    def usable(self) -> bool:
        return not any(one.grave for one in self.findings)


@dataclass(frozen=True, slots=True)
class Draft:
    """An item to be written on: its data as in TOML, and the version it starts from."""

    bank: BankChoice
    data: dict[str, Any]
    item_id: int | None = None
    version: int | None = None
    state: ItemState | None = None


@dataclass(frozen=True, slots=True)
class Saved:
    item_id: int
    version: int
    unchanged: bool = False
    overtook: VersionRow | None = None  # somebody saved this version meanwhile


@dataclass(frozen=True, slots=True)
class Use:
    answers: int
    right_share: float | None
    last_at: datetime | None


@dataclass(frozen=True, slots=True)
class KeyCorrection:
    """What approving a version would do to answers already given."""

    answers: int
    people: int
    same_question: bool


@dataclass(frozen=True, slots=True)
class ItemPage:
    item_id: int
    item_ref: str
    bank: BankChoice
    entry: str
    shown: VersionRow
    newest: VersionRow
    offered: VersionRow | None
    versions: tuple[VersionRow, ...]
    preview: Preview
    findings: tuple[Finding, ...]
    history: tuple[NoteRow, ...]
    deeds: frozenset[Deed]  # what may be done with the version shown, by the actor
    wrote_it: bool
    use: Use
    remarks: tuple[tuple[RemarkRow, int, int], ...]  # remark, people, answers
    key_correction: KeyCorrection | None = None
    beside: tuple[VersionRow, ...] = field(default=())  # written on the same earlier version
    tests_waiting: int = 0  # finished sittings that asked another version than the one in use
    tests_again: tuple[RemarkDeed, ...] = ()  # how finished tests were marked again


@dataclass(frozen=True, slots=True)
class Difference:
    item_id: int
    entry: str
    before: VersionRow
    after: VersionRow
    fields: tuple[Differing, ...]
