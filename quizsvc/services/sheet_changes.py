"""What a new revision of a sheet changes: fields, answers, and whose record rests on the old one.

Whether a family's answers change is found by drawing it for a set of fixed seeds on both
revisions. That is a sample, and the page says so; all else is counted exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from sqlalchemy import Connection

from quizsvc.errors import InputError
from quizsvc.items.as_json import figure_alt
from quizsvc.items.family import Family, all_families, draw_item
from quizsvc.items.model import Item
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import right_words
from quizsvc.services.house import House
from quizsvc.services.sheet_pages import revision_rows, row_of
from quizsvc.sheets.difference import Difference, differences
from quizsvc.sheets.schema import EngineSheet
from quizsvc.store import sheet_evidence
from quizsvc.store.sheets import RevisionRow

SEEDS = 20  # items drawn per family on each revision
NO_QUESTION = "no question from this sheet"
_KEPT = 32  # comparisons; one takes about a second


@dataclass(frozen=True, slots=True)
class FamilyChange:
    """How many of a family's sampled items differ between two revisions, with one example."""

    family: Family
    topic_title: str
    answers: int  # of the items drawn, those with another answer
    asked: int  # those with the same answer, but asked or drawn otherwise
    of: int
    prompt: str  # of the first item that has another answer, on the new revision
    old_answer: str
    new_answer: str


@dataclass(frozen=True, slots=True)
class Resting:
    """Something in a person's record that rests on a revision."""

    person_id: int
    name: str
    what: str
    last_at: datetime


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two revisions of a sheet beside each other."""

    old: RevisionRow
    new: RevisionRow
    differences: tuple[Difference, ...]
    families: tuple[FamilyChange, ...]
    families_alike: int
    seeds: int
    people: tuple[Resting, ...]
    answers_touched: int  # answers on the old revision in families whose answers change


Evidence = Callable[[Connection, int, int], Iterator[Resting]]


def answers_resting(connection: Connection, revision_id: int, shop_id: int) -> Iterator[Resting]:
    """Yield whose answers rest on a stored revision."""
    for row in sheet_evidence.answered_on(connection, revision_id, shop_id):
        plural = "s" if row.answers > 1 else ""
        what = f"{row.answers} answer{plural}, {row.right} right"
        yield Resting(row.person_id, row.name, what, row.last_at)


def certificates_resting(
    connection: Connection, revision_id: int, shop_id: int
) -> Iterator[Resting]:
    """Yield whose certificate was won with questions drawn from a stored revision."""
    for row in sheet_evidence.certified_on(connection, revision_id, shop_id):
        asked = f"{row.questions} question{'s' if row.questions > 1 else ''} of its test"
        revoked = ", revoked since" if row.revoked else ""
        what = f"certificate {row.certificate_id}{revoked}: {asked}"
        yield Resting(row.person_id, row.name, what, row.issued_at)


# Whatever else comes to rest on sheets (sign-offs) puts its own reader here:
# (connection, id of the stored revision, shop) -> what rests on it.
EVIDENCE: list[Evidence] = [answers_resting, certificates_resting]


def compare(
    house: House, actor: Actor, sheet_id: str, old_revision: int, new_revision: int
) -> Comparison:
    """Return what differs between two revisions of a sheet and what that touches.

    Raises:
        NotFoundError: no such sheet or revision for this shop.
    """
    require(actor, May.WRITE_SHEETS)
    require(actor, May.SEE_CLASS_RECORDS)
    with house.read() as connection:
        rows = revision_rows(connection, actor, sheet_id)
        old, new = row_of(rows, old_revision), row_of(rows, new_revision)
        before = house.shelf.sheet(connection, old.id)
        after = house.shelf.sheet(connection, new.id)
        people = tuple(_resting_on(connection, old.id, actor.shop_id))
        given = sheet_evidence.families_answered_on(connection, old.id, actor.shop_id)
    changed = families_changed(before, after)
    return Comparison(
        old=old,
        new=new,
        differences=differences(before, after),
        families=changed,
        families_alike=len(all_families()) - len(changed),
        seeds=SEEDS,
        people=people,
        answers_touched=sum(given.get(one.family.id, 0) for one in changed if one.answers),
    )


def people_resting_on(
    house: House, actor: Actor, sheet_id: str, revision: int
) -> tuple[Resting, ...]:
    """Return whose record in the actor's shop rests on a revision, by name and kind."""
    require(actor, May.SEE_CLASS_RECORDS)
    with house.read() as connection:
        row = row_of(revision_rows(connection, actor, sheet_id), revision)
        return tuple(_resting_on(connection, row.id, actor.shop_id))


@lru_cache(_KEPT)
def families_changed(old: EngineSheet, new: EngineSheet) -> tuple[FamilyChange, ...]:
    """Return the families of which a sampled item differs, those with other answers first."""
    # The stream of choices hangs on id and revision: with both alike only the content counts.
    alike = new.model_copy(update={"id": old.id, "revision": old.revision})
    changes = (_change(family, old, alike) for family in all_families().values())
    found = [one for one in changes if one.answers or one.asked]
    return tuple(sorted(found, key=lambda one: (-one.answers, -one.asked, one.family.id)))


def _resting_on(connection: Connection, revision_id: int, shop_id: int) -> Iterator[Resting]:
    for evidence in EVIDENCE:
        yield from evidence(connection, revision_id, shop_id)


def _change(family: Family, old: EngineSheet, new: EngineSheet) -> FamilyChange:
    pairs = list(zip(_drawn(family, old), _drawn(family, new), strict=True))
    other = [pair for pair in pairs if _key(pair[0]) != _key(pair[1])]
    asked = [pair for pair in pairs if pair not in other and _put(pair[0]) != _put(pair[1])]
    first, then = max(other, key=_tells, default=(None, None))
    shown = then or first
    return FamilyChange(
        family,
        find_topic(family.topic).title,
        len(other),
        len(asked),
        SEEDS,
        shown.prompt if shown else "",
        _words(first) if other else "",
        _words(then) if other else "",
    )


def _drawn(family: Family, sheet: EngineSheet) -> list[Item | None]:
    """Return an item per seed; None from where on the sheet has nothing for the family.

    Going on after a refusal would only find it again, after hundreds of tries for each seed.
    """
    items: list[Item | None] = []
    for seed in range(SEEDS):
        try:
            items.append(draw_item(family, sheet, seed))
        except InputError:  # nothing to ask about, or a draft the core refuses to compute with
            break
    return items + [None] * (SEEDS - len(items))


def _key(item: Item | None) -> object:
    """Return what is right, and within what tolerance."""
    if item is None:
        return None
    right = frozenset(option.text for option in item.shown_options if option.correct)
    return item.kind, item.key, right


def _put(item: Item | None) -> object:
    if item is None:
        return None
    return item.prompt, item.givens, figure_alt(item) if item.figure else ""


def _tells(pair: tuple[Item | None, Item | None]) -> bool:
    """Return whether the two answers differ as shown; they make the better example."""
    return _words(pair[0]) != _words(pair[1])


def _words(item: Item | None) -> str:
    return NO_QUESTION if item is None else right_words(item)
