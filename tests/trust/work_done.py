"""What the program did to answer: functions called, statements sent, bytes given back.

Times differ from run to run and judge nothing; work that is the same takes the same time.
"""

from __future__ import annotations

import gc
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from sqlalchemy import Engine, event

OURS = str(Path(__file__).parents[2] / "quizsvc")


@dataclass
class Work:
    """Statements in their order, our own functions and how often each ran, all others together."""

    statements: list[str] = field(default_factory=list)
    ours: Counter[str] = field(default_factory=Counter)
    others: Counter[str] = field(default_factory=Counter)
    bytes_sent: int = 0

    @property
    def calls(self) -> int:
        return self.ours.total() + self.others.total()


@contextmanager
def work_counted() -> Iterator[Work]:
    """Count what this thread does while the block runs."""
    done = Work()

    def note_statement(_c: object, _cursor: object, statement: str, *_more: object) -> None:
        done.statements.append(statement)

    def note_call(frame: FrameType, kind: str, _argument: object) -> None:
        if kind == "call":
            code = frame.f_code
            where = done.ours if code.co_filename.startswith(OURS) else done.others
            where[f"{code.co_filename}:{code.co_qualname}"] += 1

    event.listen(Engine, "before_cursor_execute", note_statement)
    before = sys.getprofile()
    gc.disable()  # what it clears away at a moment of its own is no work of ours
    sys.setprofile(note_call)
    try:
        yield done
    finally:
        sys.setprofile(before)
        gc.enable()
        event.remove(Engine, "before_cursor_execute", note_statement)


def work_of(deed: Callable[[], bytes]) -> Work:
    """Return what it took to do something that answers with these bytes."""
    with work_counted() as done:
        answered = deed()
    done.bytes_sent = len(answered)
    return done
