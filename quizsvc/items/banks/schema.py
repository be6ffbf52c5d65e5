"""How a hand-written bank is written down: one TOML file, as frozen pydantic models.

A bank has an ``id``, a ``title``, an ``author`` and ``[[items]]``. What the items of one file
share is said once: ``caution_first`` (the sentence that opens every caution) and ``[cautions]``
(named cautions, which an item asks for with ``cautions = ["spring"]``).

Texts may be left empty here so that `quizsvc bank check` can say what is missing and where;
`quizsvc.items.banks.keys` says which faults make an item unusable.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS

Name = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,59}$")]
Text = Annotated[str, Field(max_length=4000)]
Line = Annotated[str, Field(min_length=1, max_length=400)]
PictureName = Annotated[str, Field(pattern=r"^([a-z0-9][a-z0-9-]*\.(png|jpg|webp))?$")]
Coordinate = Annotated[float, Field(ge=0, le=10_000)]

COMMON_PRACTICE = "common practice, no source"


class Written(BaseModel):
    """Base of every table of a bank: frozen, no unknown keys, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class WrittenOption(Written):
    """One option, right or wrong, and why."""

    text: Line
    correct: bool = False
    rationale: Text = ""
    misconception: str = ""


class WrittenNumber(Written):
    """A number that people are expected to type, other than the right one."""

    value: float
    rationale: Text = ""
    misconception: str = ""


class WrittenAnswer(Written):
    """The right number of a number item."""

    value: float
    tolerance: Annotated[float, Field(ge=0)]
    unit: Annotated[str, Field(max_length=20)] = ""
    decimals: Annotated[int, Field(ge=0, le=6)] = 0
    quantity: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")] = "number"
    rationale: Text = ""


class WrittenStep(Written):
    """A worked step, shown after the answer."""

    text: Line
    value: float | None = None
    unit: Annotated[str, Field(max_length=20)] = ""


class WrittenThing(Written):
    """One thing to put in order; rules speak of it by its ``id``."""

    id: Name
    text: Line


class WrittenRule(Written):
    """A rule of order: ``first`` comes before ``later``, and ``why``."""

    first: Name
    later: Name
    why: Text = ""


class WrittenPair(Written):
    left: Line
    right: Line
    rationale: Text = ""


class WrittenPlace(Written):
    """A circle on the picture, in pixels of the picture as stored."""

    name: Line
    at: tuple[Coordinate, Coordinate]
    radius: Annotated[float, Field(gt=0, le=2000)]
    correct: bool = False
    rationale: Text = ""
    misconception: str = ""


class Accepted(Written):
    """A finding about style that the author has looked at and keeps, with the reason."""

    check: Name
    because: Line


class WrittenItem(Written):
    """What every item states, whatever its kind."""

    id: Name
    version: Annotated[int, Field(ge=1)] = 1
    topic: str
    level: Level
    tags: tuple[Name, ...] = ()
    prompt: Annotated[str, Field(min_length=1, max_length=4000)]
    reference: Annotated[str, Field(min_length=1, max_length=400)]
    author: Annotated[str, Field(max_length=120)] = ""  # the bank's author when empty
    caution: Text = ""
    cautions: tuple[Name, ...] = ()  # names from the bank's [cautions]
    picture: PictureName = ""
    picture_alt: Text = ""
    steps: tuple[WrittenStep, ...] = ()
    accepted: tuple[Accepted, ...] = ()

    @field_validator("topic")
    @classmethod
    def _known_topic(cls, topic: str) -> str:
        known = [one.id for one in TOPICS]
        if topic not in known:
            raise ValueError(f"there is no such topic; use one of: {', '.join(known)}")
        return topic


class ChoiceItem(WrittenItem):
    kind: Literal["one choice", "several choices"]
    options: Annotated[tuple[WrittenOption, ...], Field(min_length=2, max_length=10)]


class NumberItem(WrittenItem):
    kind: Literal["number"]
    answer: WrittenAnswer
    expected: Annotated[tuple[WrittenNumber, ...], Field(max_length=10)] = ()


class OrderItem(WrittenItem):
    kind: Literal["order"]
    sequence: Annotated[tuple[WrittenThing, ...], Field(min_length=3, max_length=12)]
    before: tuple[WrittenRule, ...] = ()


class MatchItem(WrittenItem):
    kind: Literal["match"]
    pairs: Annotated[tuple[WrittenPair, ...], Field(min_length=3, max_length=10)]
    others: Annotated[tuple[Line, ...], Field(max_length=6)] = ()  # partners that fit nothing


class PointItem(WrittenItem):
    kind: Literal["point on a figure"]
    places: Annotated[tuple[WrittenPlace, ...], Field(min_length=2, max_length=12)]


AnyItem = Annotated[
    ChoiceItem | NumberItem | OrderItem | MatchItem | PointItem, Field(discriminator="kind")
]


class WrittenBank(Written):
    """One TOML file."""

    schema_version: Literal[1]
    id: Name
    title: Line
    about: Text = ""
    author: Annotated[str, Field(min_length=1, max_length=120)]
    caution_first: Text = ""
    cautions: dict[Name, Text] = Field(default_factory=dict)
    items: Annotated[tuple[AnyItem, ...], Field(min_length=1, max_length=20_000)]
