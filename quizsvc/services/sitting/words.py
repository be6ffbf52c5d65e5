"""What sittings and assignments look like to the pages: plain values, no key before its time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from quizsvc.items.model import Step
from quizsvc.rules.assignments import Feedback, Form
from quizsvc.rules.sittings import State
from quizsvc.services.shown import Given, OpenItem
from quizsvc.store.sitting_marks import RemarkedSitting


@dataclass(frozen=True, slots=True)
class Due:
    """An assignment as a line of a learner's list."""

    assignment_id: int
    title: str
    form: Form
    opens_at: datetime
    due_at: datetime | None
    questions: int
    minutes: int | None
    state: str  # in words: "to do", "not open yet", "running", "done", "missed"
    running: str  # token of the sitting that runs, or empty
    points: int | None  # of the best try, once its answers are told
    out_of: int | None


@dataclass(frozen=True, slots=True)
class Try:
    """A finished or running try at an assignment."""

    token: str
    nth: int
    state: State
    finished_at: datetime | None
    points: int | None
    out_of: int | None
    told: bool


@dataclass(frozen=True, slots=True)
class Before:
    """What somebody sees before they begin."""

    assignment_id: int
    title: str
    words: str
    form: Form
    feedback: Feedback
    opens_at: datetime
    due_at: datetime | None
    questions: int
    minutes: int | None  # with the person's own extra time
    extra_minutes: int
    tries_left: int
    needs_code: bool
    why_not: str  # empty if it can be begun
    tries: tuple[Try, ...]


@dataclass(frozen=True, slots=True)
class Tab:
    """A question of a sitting as seen from the others."""

    number: int
    answered: bool
    look_again: bool
    checked: bool


@dataclass(frozen=True, slots=True)
class FirstCheck:
    """What was made of an answer first, where it was marked again since."""

    correct: bool
    right_words: str


@dataclass(frozen=True, slots=True)
class Checked:
    """What was right, once a person may know."""

    number: int
    prompt: str
    correct: bool
    credit: float
    void: bool
    void_reason: str
    given_words: str
    right_words: str
    misconception_title: str
    misconception_says: str
    rationale: str
    steps: tuple[Step, ...]
    caution: str
    reference: str
    topic_title: str
    figure: str  # SVG, or empty
    picture: bool
    picture_alt: str
    first: FirstCheck | None = None  # how it was marked before the key was corrected


@dataclass(frozen=True, slots=True)
class SittingPage:
    """One question of a running sitting."""

    token: str
    title: str
    form: Form
    state: State
    number: int
    tabs: tuple[Tab, ...]
    item: OpenItem
    figure: str  # SVG, or empty
    has_picture: bool
    typed: dict[str, list[str]]
    sequence: int
    saved_at: datetime | None
    look_again: bool
    here: bool  # False when it is open at another place
    place_since: datetime
    ends_at: datetime | None
    left: timedelta | None
    checks_each: bool
    checked: Checked | None

    @property
    def answered(self) -> int:
        return sum(tab.answered for tab in self.tabs)


@dataclass(frozen=True, slots=True)
class Saving:
    """An answer on its way in: the fields as typed, and what they mean if they are whole.

    ``sequence`` counts up with every change of one question at one place; ``key`` names this
    very request, so that sending it twice is the same as sending it once.
    """

    typed: dict[str, list[str]]
    given: Given | None
    sequence: int
    key: str


@dataclass(frozen=True, slots=True)
class Saved:
    """The acknowledgement of a save: it is on disk."""

    number: int
    sequence: int
    saved_at: datetime
    answered: int
    questions: int
    left: timedelta | None
    note: str  # why it could not be marked as it stands, or empty


@dataclass(frozen=True, slots=True)
class Review:
    """A finished sitting as its person sees it."""

    token: str
    assignment_id: int
    title: str
    form: Form
    feedback: Feedback
    state: State
    finished_at: datetime
    answered: int
    questions: int
    told: bool
    points: int | None
    out_of: int | None
    answers: tuple[Checked, ...]
    again: tuple[RemarkedSitting, ...] = ()  # how it was marked again, the oldest first
