"""What an item is: one question as put to a person, with its key, options and worked steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from quizsvc.figures.scene import Area, Scene

__all__ = [
    "Area",
    "Asked",
    "BenchStart",
    "BenchTask",
    "Figure",
    "Given",
    "Item",
    "Key",
    "Kind",
    "Level",
    "Option",
    "Step",
    "Value",
]

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
    """One thing to choose, or, where nothing is chosen, a predicted answer.

    Shown for one choice, several choices and point items (there ``text`` is the place's name);
    see `Item.shown_options`. Otherwise a prediction that only marking reads: ``value`` is the
    number, the whole order (texts in order), the match (right-hand texts in the order of
    ``Item.left``) or the state of the bench.

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
class Key:
    """What counts as right.

    number: ``value`` within ``tolerance``. one choice / several choices: the options marked
    correct. order: ``sequence`` is one right order and ``before`` the rules (a must come before
    b) that every right order keeps. match: ``pairs``. point: ``areas`` that are right.
    bench: ``value`` (crank degrees, or teeth the chain is off) within ``tolerance``; crank
    degrees come round again after 720. A tuple as ``value`` lists several equally right numbers.
    """

    value: Value | None = None
    tolerance: float = 0.0
    sequence: tuple[str, ...] = ()
    before: tuple[tuple[str, str, str], ...] = ()  # (first, later, why)
    pairs: tuple[tuple[str, str], ...] = ()
    areas: tuple[Area, ...] = ()


class BenchTask(StrEnum):
    """What a person does on the timing bench."""

    TURN = "turn"  # turn the crankshaft; the state marked is the crank angle
    REFIT = "refit"  # move the chain on its sprocket; the state marked is the teeth it is off


@dataclass(frozen=True, slots=True)
class BenchStart:
    """The state in which the timing bench is put before a person.

    ``crank_deg`` on the 0-720 scale of cylinder 1. ``teeth_off`` counts teeth of the camshaft
    sprocket of ``drive`` (a drive id of the sheet); positive means that the cam lags.
    """

    task: BenchTask
    crank_deg: float
    drive: str = ""
    teeth_off: int = 0


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
    things: tuple[str, ...] = ()  # what to put in order, shuffled
    left: tuple[str, ...] = ()  # what to match, and
    right: tuple[str, ...] = ()  # what with, shuffled; one of these may serve twice or never
    bench: BenchStart | None = None
    picture: str = ""  # file in media/, for bank items
    picture_alt: str = ""

    @property
    def shown_options(self) -> tuple[Option, ...]:
        """What a person may see before the answer; predicted answers stay behind."""
        if self.kind in {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES, Kind.POINT}:
            return self.options
        return ()
