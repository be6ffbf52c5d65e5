"""What stands at the questions of an answer sheet, read or decided, and as it is stored."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from sqlalchemy import Connection

from quizsvc.errors import NotFoundError
from quizsvc.paper.reading import ReadSheet
from quizsvc.store import printed_tests
from quizsvc.store.printed_tests import SheetState, StoredCopy

NONE = "-"  # decided: no box counts


@dataclass(frozen=True, slots=True)
class Mark:
    """What stands at one question: read or decided letters, and the doubt there was."""

    question: int
    letters: str
    doubt: str
    decided: bool

    @property
    def open(self) -> bool:
        return bool(self.doubt) and not self.decided


def find_copy(connection: Connection, test_id: int, copy: int, *, lock: bool = False) -> StoredCopy:
    found = printed_tests.find_copy(connection, test_id, copy, lock=lock)
    if found is None:
        raise NotFoundError("there is no such answer sheet.", field="sheet", value=copy)
    return found


def marks_read(read: ReadSheet) -> dict[int, Mark]:
    return {
        one.question: Mark(one.question, one.letters, one.doubt, decided=False)
        for one in read.answers
    }


def state_of(marks: dict[int, Mark]) -> SheetState:
    waits = any(mark.open for mark in marks.values())
    return SheetState.TO_DECIDE if waits else SheetState.READ


def marks_stored(stored: StoredCopy) -> dict[int, Mark]:
    return {one["question"]: Mark(**one) for one in json.loads(stored.answers).get("marks", ())}


def marks_text(marks: dict[int, Mark]) -> str:
    return json.dumps({"marks": [asdict(mark) for mark in marks.values()]})
