"""What people are shown and what they put in: plain values between the services and the web.

Nothing here carries a key, a seed or a misconception before the answer is in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.items.model import BenchStart, Kind, Level, Step


@dataclass(frozen=True, slots=True)
class TopicStanding:
    """How a person stands in a topic: the chance of getting a typical item of it right.

    ``low`` and ``high`` bound an approximate 90 % interval. All three are None before the
    first answer. ``words`` says it in a sentence, interval and date included.
    """

    topic_id: str
    title: str
    about: str
    answers: int
    chance: float | None
    low: float | None
    high: float | None
    last: datetime | None
    words: str
    ready: bool = False  # practice gate only, never a pass


@dataclass(frozen=True, slots=True)
class SheetChoice:
    sheet_id: str
    title: str
    revision: int


@dataclass(frozen=True, slots=True)
class PracticeOverview:
    topics: tuple[TopicStanding, ...]  # topics that have something to practise
    sheets: tuple[SheetChoice, ...]
    most_useful: str  # topic id
    why: str


@dataclass(frozen=True, slots=True)
class Choice:
    """A numbered thing to choose, put in order or match; numbers run from 1 as shown."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class Place:
    """A numbered place on the figure of a point item: a circle in scene units."""

    number: int
    name: str
    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class OpenItem:
    """An offered item as put to the person, before the answer."""

    token: str
    kind: Kind
    level: Level
    prompt: str
    options: tuple[Choice, ...]  # one choice, several choices
    things: tuple[Choice, ...]  # order: to be put in order; match: to be given a partner
    partners: tuple[Choice, ...]  # match
    places: tuple[Place, ...]  # point
    unit: str  # number, bench
    decimals: int
    caution: str
    topic_id: str
    topic_title: str
    sheet_id: str
    sheet_title: str  # empty for a bank item that rests on no sheet
    has_figure: bool
    figure_alt: str
    picture: str  # name of a file in media/, or empty
    picture_alt: str
    why: str  # one line: why this one now
    answered: bool
    bench: BenchStart | None = None  # the state in which the bench is put before the person


@dataclass(frozen=True, slots=True)
class Given:
    """What a person put in, as it came from the page. Numbers are those shown."""

    choices: tuple[int, ...] = ()  # one or several choices
    number: str = ""  # number or bench, as typed: "12,5", "−3"
    order: tuple[int, ...] = ()  # numbers of the things, first one first
    pairs: tuple[tuple[int, int], ...] = ()  # (thing, partner)
    place: int | None = None  # point: a numbered place
    point: tuple[float, float] | None = None  # point: where on the figure, in scene units


@dataclass(frozen=True, slots=True)
class OptionOutcome:
    """An option once the answer is in: what it was, whether chosen, and why right or wrong."""

    number: int
    text: str
    chosen: bool
    correct: bool
    rationale: str


@dataclass(frozen=True, slots=True)
class FirstMark:
    """What was made of an answer when it was given, where it counts as something else since."""

    correct: bool
    credit: float
    right_words: str
    counts: bool  # whether the answer still counts at all
    why: str
    at: datetime  # when it was marked again


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the person learns after answering; the same however often it is asked for."""

    token: str
    prompt: str  # empty when the question has been replaced since
    correct: bool
    credit: float  # 0 to 1
    given_words: str
    right_words: str
    misconception_title: str  # empty when none is known behind the answer
    misconception_says: str  # one sentence that puts it right
    rationale: str  # why the chosen answer is right or wrong
    options: tuple[OptionOutcome, ...]
    steps: tuple[Step, ...]
    caution: str
    reference: str
    topic_id: str
    topic_title: str
    has_solution_figure: bool
    picture: str
    picture_alt: str
    before: TopicStanding
    after: TopicStanding
    answered_at: datetime
    remarked: str = ""  # what was decided about the item later, where that changed the mark
    first: FirstMark | None = None  # and how it was marked before that


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    token: str
    answered_at: datetime
    topic_id: str
    topic_title: str
    sheet_title: str
    prompt: str
    given_words: str
    right_words: str
    correct: bool
    credit: float
    remarked: str = ""
    first: FirstMark | None = None


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """Answers, newest first; ``page`` runs from 1."""

    topic: str | None
    entries: tuple[HistoryEntry, ...]
    page: int
    pages: int
    total: int
