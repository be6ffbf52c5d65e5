"""Search among items: full text over the hand-written ones, with filters; families beside them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from quizsvc.errors import InputError, QuizsvcError
from quizsvc.items.family import Family, NotForThisSheet, all_families, draw_item
from quizsvc.items.topics import find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.authored import Use
from quizsvc.services.house import House
from quizsvc.services.shown import SheetChoice
from quizsvc.store import cards, sheets
from quizsvc.store.cards import CardRow, Wanted
from quizsvc.store.sheets import StoredRevision

PAGE = 25
LATELY = timedelta(days=30)
LONG_AGO = timedelta(days=180)
EASY, HARD = 0.85, 0.55  # share of right answers; common practice, no source
TRIES = 4  # seeds with which a family is tried on a sheet


class Used(StrEnum):
    LATELY = "in the last 30 days"
    NOT_LATELY = "not in the last 30 days"
    LONG_AGO = "not in the last 180 days"


class Difficulty(StrEnum):
    EASY = "easy: more than 85 % right"
    MIDDLING = "middling: 55 to 85 % right"
    HARD = "hard: less than 55 % right"


@dataclass(frozen=True, slots=True)
class Query:
    """What somebody looks for; empty fields leave a thing open. ``page`` runs from 1."""

    words: str = ""
    topic: str = ""
    level: str = ""
    kind: str = ""
    state: str = ""
    bank: str = ""
    sheet: str = ""
    used: str = ""
    difficulty: str = ""
    page: int = 1


@dataclass(frozen=True, slots=True)
class FoundItem:
    card: CardRow
    topic_title: str
    use: Use


@dataclass(frozen=True, slots=True)
class FoundFamily:
    id: str
    topic_title: str
    levels: str
    kinds: str


@dataclass(frozen=True, slots=True)
class FoundItems:
    query: Query
    items: tuple[FoundItem, ...]
    total: int
    pages: int
    families: tuple[FoundFamily, ...]
    sheets: tuple[SheetChoice, ...]
    by_state: dict[str, int]


def search(house: House, actor: Actor, query: Query, *, now: datetime) -> FoundItems:
    """Return a page of what fits. With an engine sheet only families rest on it.

    Raises:
        InputError: there is no such page.
    """
    require(actor, May.WRITE_ITEMS)
    with house.read() as connection:
        revisions = sheets.latest_published(connection, actor.shop_id)
        wanted, skip = _wanted(actor, query, now), (query.page - 1) * PAGE
        found: tuple[int, tuple[CardRow, ...]] = (0, ())
        if not query.sheet:
            found = cards.page(connection, wanted, skip=skip, count=PAGE)
        used = cards.use_of(connection, [card.item_ref for card in found[1]])
        by_state = cards.counts_by_state(connection, actor.shop_id)
        families = _families(house, connection, query, revisions) if query.page == 1 else ()
    pages = max(1, -(-found[0] // PAGE))
    if not 1 <= query.page <= pages:
        remedy = f"The pages run from 1 to {pages}."
        raise InputError("there is no such page.", field="page", value=query.page, remedy=remedy)
    return FoundItems(
        query=query,
        items=tuple(
            FoundItem(card, find_topic(card.topic).title, _use(used.get(card.item_ref)))
            for card in found[1]
        ),
        total=found[0],
        pages=pages,
        families=families,
        sheets=tuple(SheetChoice(one.sheet_id, one.title, one.revision) for one in revisions),
        by_state=by_state,
    )


def _wanted(actor: Actor, query: Query, now: datetime) -> Wanted:
    easier = {Difficulty.EASY: EASY, Difficulty.MIDDLING: HARD}
    harder = {Difficulty.HARD: HARD, Difficulty.MIDDLING: EASY}
    before = {Used.NOT_LATELY: now - LATELY, Used.LONG_AGO: now - LONG_AGO}
    return Wanted(
        shop_id=actor.shop_id,
        words=query.words,
        topic=query.topic or None,
        level=query.level or None,
        kind=query.kind or None,
        state=query.state or None,
        bank=query.bank or None,
        used_since=now - LATELY if query.used == Used.LATELY else None,
        unused_since=before.get(query.used),  # type: ignore[call-overload]
        easier_than=easier.get(query.difficulty),  # type: ignore[call-overload]
        harder_than=harder.get(query.difficulty),  # type: ignore[call-overload]
    )


def _use(row: cards.UseRow | None) -> Use:
    return Use(row.answers, row.right_share, row.last_at) if row else Use(0, None, None)


def _families(
    house: House, connection: object, query: Query, revisions: tuple[StoredRevision, ...]
) -> tuple[FoundFamily, ...]:
    """Return families that fit; those of state, bank, use or difficulty are not told apart."""
    if query.state or query.bank or query.used or query.difficulty:
        return ()
    revision = next((one for one in revisions if one.sheet_id == query.sheet), None)
    if query.sheet and revision is None:
        return ()
    if not (query.sheet or query.words):
        return ()
    return tuple(
        FoundFamily(
            family.id,
            find_topic(family.topic).title,
            ", ".join(level.value for level in family.levels),
            ", ".join(kind.value for kind in family.kinds),
        )
        for family in all_families().values()
        if _fits(family, query)
        and (revision is None or _draws(house, connection, family, revision))
    )


def _fits(family: Family, query: Query) -> bool:
    said = f"{family.id} {find_topic(family.topic).title}".casefold()
    return (
        query.topic in {"", family.topic}
        and query.level in {"", *(level.value for level in family.levels)}
        and query.kind in {"", *(kind.value for kind in family.kinds)}
        and all(word in said for word in query.words.casefold().split())
    )


def _draws(house: House, connection: object, family: Family, revision: StoredRevision) -> bool:
    """Return whether the family asks about the sheet; what was found out is remembered."""
    if not house.shelf.fits(family.id, revision.id):
        return False
    sheet = house.shelf.sheet(connection, revision.id)  # type: ignore[arg-type]
    for seed in range(TRIES):
        try:
            draw_item(family, sheet, seed)
        except NotForThisSheet:
            house.shelf.note_unfit(family.id, revision.id)
            return False
        except QuizsvcError:
            continue
        return True
    return False
