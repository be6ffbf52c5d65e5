"""A short lesson about one wrong idea: what it says, a case that shows why not, three to try."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection

from quizsvc.errors import InputError, NotFoundError
from quizsvc.figures.scene import Scene
from quizsvc.items.family import Family, all_families, draw_item
from quizsvc.items.markdown import plain_words
from quizsvc.items.misconception import Misconception, all_misconceptions
from quizsvc.items.model import Item, Kind, Option, Step
from quizsvc.items.topics import find_topic
from quizsvc.paper.lesson_sheet import LessonPage, TryIt, lesson_pdf
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.marking import ideas_of, right_words
from quizsvc.services.house import House
from quizsvc.sheets.schema import EngineSheet
from quizsvc.store import sheets

PRACTICE_ITEMS = 3
SEEDS_TRIED = 60  # per family and sheet, until an item lets the idea show itself
_EASY_TO_PRINT = (Kind.ONE_CHOICE, Kind.NUMBER, Kind.SEVERAL_CHOICES)


@dataclass(frozen=True, slots=True)
class LessonItem:
    """An item of a lesson with what the idea would make of it."""

    item: Item
    sheet_title: str
    right: str
    misled: str  # the answer that the idea leads to
    why_not: str
    figure: Scene | None
    solution: Scene | None

    @property
    def steps(self) -> tuple[Step, ...]:
        return self.item.steps


@dataclass(frozen=True, slots=True)
class Lesson:
    idea: Misconception
    topic_title: str
    shown: LessonItem
    practice: tuple[LessonItem, ...]
    caution: str


def lesson(house: House, actor: Actor, idea_id: str) -> Lesson:
    """Return a lesson about an idea; the same idea and sheets give the same lesson.

    Raises:
        NotFoundError: there is no such idea, or no family whose numbers let it show.
    """
    require(actor, May.SEE_CLASS_RECORDS)
    idea = all_misconceptions().get(idea_id)
    if idea is None:
        raise _no_lesson(idea_id, "there is no such idea.")
    with house.read() as connection:
        found = _items(_sheets(house, connection, actor.shop_id), idea_id)
    if not found:
        raise _no_lesson(idea_id, "no family on the engine sheets here lets this idea show.")
    shown = next((one for one in found if one.solution is not None), found[0])
    practice = tuple(one for one in found if one is not shown)[:PRACTICE_ITEMS]
    caution = _cautions([one.item.caution for one in (shown, *practice)])
    return Lesson(idea, find_topic(idea.topic).title, shown, practice, caution)


def _cautions(said: list[str]) -> str:
    """Return all sentences of caution, each once."""
    sentences = [part for one in said for part in re.split(r"(?<=[.!]) ", one) if part]
    return " ".join(dict.fromkeys(sentences))


def lesson_as_pdf(house: House, actor: Actor, idea_id: str) -> bytes:
    """Return the lesson as a sheet to print: two pages or three, answers last."""
    made = lesson(house, actor, idea_id)
    return lesson_pdf(
        LessonPage(
            title=made.idea.title,
            topic=made.topic_title,
            thinks=made.idea.thinks,
            but=made.idea.but,
            case=_try_it(made.shown),
            solution=made.shown.solution or made.shown.figure,
            practice=tuple(_try_it(one) for one in made.practice),
            caution=made.caution,
        )
    )


def _try_it(one: LessonItem) -> TryIt:
    return TryIt(
        prompt=plain_words(one.item.prompt),
        options=tuple(option.text for option in one.item.options)
        if one.item.kind in {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES}
        else (),
        figure=one.figure,
        right=one.right,
        misled=one.misled,
        worked=tuple(step.text for step in one.item.steps),
    )


def _sheets(house: House, connection: Connection, shop_id: int) -> tuple[EngineSheet, ...]:
    rows = sheets.latest_published(connection, shop_id)
    return tuple(house.shelf.sheet(connection, row.id) for row in rows)


def _items(engine_sheets: tuple[EngineSheet, ...], idea_id: str) -> list[LessonItem]:
    """Return items in which the idea shows, families and sheets taken in turn."""
    families = [one for one in all_families().values() if idea_id in one.misconceptions]
    found: list[LessonItem] = []
    for some in (
        [one for one in families if _printable(one)],
        [one for one in families if not _printable(one)],
    ):
        _gather(
            found, [_showing(family, sheet, idea_id) for family in some for sheet in engine_sheets]
        )
    return found


def _printable(family: Family) -> bool:
    return any(kind in family.kinds for kind in _EASY_TO_PRINT)


def _gather(found: list[LessonItem], streams: list[Iterator[LessonItem]]) -> None:
    while streams and len(found) <= PRACTICE_ITEMS:
        for stream in tuple(streams):
            one = next(stream, None)
            if one is None:
                streams.remove(stream)
            elif all(one.item.prompt != other.item.prompt for other in found):
                found.append(one)


def _showing(family: Family, sheet: EngineSheet, idea_id: str) -> Iterator[LessonItem]:
    kinds = [kind for kind in _EASY_TO_PRINT if kind in family.kinds] or list(family.kinds)
    for seed in range(1, SEEDS_TRIED + 1):
        try:
            item = draw_item(family, sheet, f"lesson {seed}", kind=kinds[seed % len(kinds)])
        except InputError:  # nothing to ask about on this sheet
            return
        if idea_id in ideas_of(item):
            yield _lesson_item(item, sheet, idea_id)


def _lesson_item(item: Item, sheet: EngineSheet, idea_id: str) -> LessonItem:
    option = next(one for one in item.options if one.misconception == idea_id)
    return LessonItem(
        item,
        sheet.title,
        right_words(item),
        _said(option),
        option.rationale,
        item.figure() if item.figure else None,
        item.solution_figure() if item.solution_figure else None,
    )


def _said(option: Option) -> str:
    return option.text or str(option.value)


def _no_lesson(idea_id: str, problem: str) -> NotFoundError:
    return NotFoundError(
        problem,
        field="misconception",
        value=idea_id[:80],
        remedy="Choose another on the class's page.",
    )
