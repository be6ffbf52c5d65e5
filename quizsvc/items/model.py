"""What an item is: one question as put to a person, with its key, options and worked steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from quizsvc.figures.scene import Point, Scene

Figure = Callable[[], Scene]  # drawn only when somebody looks
Value = float | int | str | tuple[str, ...] | tuple[int, ...] | tuple[float, ...]


class Kind(StrEnum):
    """How a person answers; the interaction types of the open standards."""

    ONE_CHOICE = "one choice"
    SEVERAL_CHOICES = "several choices"
    NUMBER = "number"
    ORDER = "order"
    MATCH = "match"
    POINT = "point on a figure"
    BENCH = "set the bench"


class Level(StrEnum):
    RECALL = "recall"
    APPLY = "apply"
    DIAGNOSE = "diagnose"


@dataclass(frozen=True, slots=True)
class Given:
    """A value stated in the prompt, with its unit ("" for pure numbers and words)."""

    value: Value
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    quantity: str  # contract name, for example "crank_deg"
    unit: str
    decimals: int = 0


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose, or for a number a predicted wrong (or the right) value.

    ``misconception`` is the id of the wrong idea that leads here; empty for the right one.
    ``rationale`` says in one sentence why it is right or wrong.
    """

    text: str
    value: Value
    correct: bool
    misconception: str = ""
    rationale: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One worked step with its number."""

    text: str
    value: Value | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Area:
    """A named place on the figure, for point items: a circle in scene units."""

    name: str
    centre: Point
    radius: float


@dataclass(frozen=True, slots=True)
class Key:
    """What counts as right.

    number: ``value`` within ``tolerance``. one choice / several choices: the options marked
    correct. order: ``sequence`` is one right order and ``before`` the rules (a must come before
    b) that every right order keeps. match: ``pairs``. point: ``areas`` that are right.
    bench: ``value`` (crank degrees or teeth) within ``tolerance``.
    """

    value: Value | None = None
    tolerance: float = 0.0
    sequence: tuple[str, ...] = ()
    before: tuple[tuple[str, str, str], ...] = ()  # (first, later, why)
    pairs: tuple[tuple[str, str], ...] = ()
    areas: tuple[Area, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """One question as put to a person. ``family`` is the family id, or ``bank:BANK/ENTRY``."""

    family: str
    version: int
    topic: str
    level: Level
    kind: Kind
    sheet: str
    revision: int
    prompt: str
    givens: dict[str, Given]
    asked: Asked
    key: Key
    options: tuple[Option, ...]
    steps: tuple[Step, ...]
    figure: Figure | None = field(default=None, compare=False, repr=False)
    # The same state with the solution drawn in, shown after the answer.
    solution_figure: Figure | None = field(default=None, compare=False, repr=False)
    figure_alt: str = ""  # the same words as the drawn scene's ``alt``
    caution: str = ""
    reference: str = ""  # published source, or "common practice, no source"
    places: tuple[Area, ...] = ()  # named places of a point item, right and wrong alike
    picture: str = ""  # file in media/, for bank items
    picture_alt: str = ""
