"""Let a person decide what stands at the doubtful questions of an answer sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from quizsvc.errors import ConflictError, InputError, NotFoundError
from quizsvc.items.model import Item, Kind
from quizsvc.paper.answer_sheet import LETTERS
from quizsvc.paper.cut_out import cut_out
from quizsvc.rules.actors import Actor
from quizsvc.services.house import House
from quizsvc.services.on_paper.printed_items import (
    VARIANT_NAMES,
    items_shown,
    options_of,
    printed_by,
)
from quizsvc.services.on_paper.sheet_marks import (
    NONE,
    Mark,
    find_copy,
    marks_stored,
    marks_text,
    state_of,
)
from quizsvc.store import printed_tests
from quizsvc.store.printed_tests import SheetState, StoredCopy


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A question of a sheet to look at."""

    mark: Mark
    letters: str  # of all its options
    several: bool


@dataclass(frozen=True, slots=True)
class SheetView:
    test_id: int
    title: str
    copy: int
    name: str
    variant: str
    state: SheetState | None
    rows: tuple[SheetRow, ...]
    points: int | None
    out_of: int | None

    @property
    def doubtful(self) -> tuple[SheetRow, ...]:
        return tuple(row for row in self.rows if row.mark.open)


def sheet(house: House, actor: Actor, test_id: int, copy: int) -> SheetView:
    """Return what was read of a sheet."""
    with house.read() as connection:
        test = printed_by(connection, actor, test_id)
        stored = find_copy(connection, test_id, copy)
        items = items_shown(connection, test_id, stored.variant)
    marks = marks_stored(stored)
    return SheetView(
        test_id,
        test.title,
        copy,
        stored.name,
        VARIANT_NAMES[stored.variant - 1],
        stored.state,
        tuple(
            SheetRow(
                marks[one.number],
                LETTERS[: len(item.options)],
                item.kind is Kind.SEVERAL_CHOICES,
            )
            for one, item in items
            if one.number in marks
        ),
        stored.points,
        stored.out_of,
    )


def row_picture(house: House, actor: Actor, test_id: int, copy: int, question: int) -> bytes:
    """Return one question's row cut out of the straightened picture, as PNG."""
    with house.read() as connection:
        printed_by(connection, actor, test_id)
        stored = find_copy(connection, test_id, copy)
        picture = printed_tests.straightened_of(connection, test_id, copy)
        items = items_shown(connection, test_id, stored.variant)
    if picture is None:
        raise NotFoundError("no picture of this sheet was read.", field="sheet", value=copy)
    return cut_out(picture, options_of(items), question)


def decide(
    house: House,
    actor: Actor,
    test_id: int,
    copy: int,
    decided: Mapping[int, str],
    *,
    now: datetime,  # noqa: ARG001 - every service takes the time
) -> SheetState:
    """Set what a person sees at doubtful questions: letters, or `NONE` for no answer.

    Raises:
        InputError: a letter that the question has not, or two where one may be chosen.
        ConflictError: the sheet counts already.
    """
    with house.write() as connection:
        printed_by(connection, actor, test_id)
        stored = find_copy(connection, test_id, copy, lock=True)
        _refuse_counted(stored)
        marks = marks_stored(stored)
        items = {one.number: item for one, item in items_shown(connection, test_id, stored.variant)}
        for question, letters in decided.items():
            if question in marks and marks[question].doubt:
                settled = _checked(items[question], question, letters)
                marks[question] = Mark(question, settled, marks[question].doubt, decided=True)
        state = state_of(marks)
        printed_tests.change_copy(
            connection, test_id, copy, answers=marks_text(marks), state=state.value
        )
    return state


def _refuse_counted(stored: StoredCopy) -> None:
    if stored.state is SheetState.COUNTED:
        raise ConflictError(
            "this sheet counts already; it stays as it is.",
            field="sheet",
            value=stored.name,
            remedy="Put what was read wrong right by word with the learner.",
        )


def _checked(item: Item, question: int, letters: str) -> str:
    if letters == NONE:
        return ""
    usable = sorted(set(letters.upper()))
    wrong = [letter for letter in usable if letter not in LETTERS[: len(item.options)]]
    if wrong or not usable:
        raise InputError(
            "the question has no such option.",
            field=f"question {question}",
            value=letters[:12],
            remedy="Choose one of its letters, or none.",
        )
    if len(usable) > 1 and item.kind is not Kind.SEVERAL_CHOICES:
        raise InputError(
            "only one option may count here.",
            field=f"question {question}",
            value=letters[:12],
            remedy="Choose the one that is meant, or none.",
        )
    return "".join(usable)
