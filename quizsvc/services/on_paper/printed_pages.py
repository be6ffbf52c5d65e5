"""What can be printed and what was, as its pages show it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.services.assigning.pages import Line, list_run
from quizsvc.services.house import House
from quizsvc.services.on_paper.printed_items import VARIANT_NAMES, printed_by
from quizsvc.store import printed_tests
from quizsvc.store.printed_tests import StoredCopy


@dataclass(frozen=True, slots=True)
class PrintedLine:
    """A printed test in the list."""

    id: int
    title: str
    variants: int
    made_at: datetime
    copies: int
    counted: int


@dataclass(frozen=True, slots=True)
class PaperPlace:
    """What can be printed, and what was."""

    assignments: tuple[Line, ...]
    printed: tuple[PrintedLine, ...]


@dataclass(frozen=True, slots=True)
class PrintedView:
    """A printed test as its page shows it."""

    id: int
    title: str
    variants: tuple[str, ...]
    questions: int
    made_at: datetime
    copies: tuple[StoredCopy, ...]

    def count(self, state: str) -> int:
        return sum(one.state == state for one in self.copies)


def paper_place(house: House, actor: Actor, *, now: datetime) -> PaperPlace:
    """Return the actor's assignments and the tests printed in the shop from those they run."""
    require(actor, May.ASSIGN)
    given = list_run(house, actor, now=now)
    theirs = {line.id for line in given}
    with house.read() as connection:
        found = [
            one
            for one in printed_tests.tests_of_shop(connection, actor.shop_id)
            if one.assignment_id in theirs
        ]
        counts = printed_tests.sheets_counted(connection, [one.id for one in found])
    return PaperPlace(
        tuple(line for line in given if line.questions),
        tuple(
            PrintedLine(one.id, one.title, one.variants, one.made_at, *counts.get(one.id, (0, 0)))
            for one in found
        ),
    )


def view(house: House, actor: Actor, test_id: int) -> PrintedView:
    with house.read() as connection:
        test = printed_by(connection, actor, test_id)
        copies = printed_tests.copies_of(connection, test_id)
        questions = len(printed_tests.items_of(connection, test_id, 1))
    return PrintedView(
        test.id,
        test.title,
        tuple(VARIANT_NAMES[: test.variants]),
        questions,
        test.made_at,
        copies,
    )
