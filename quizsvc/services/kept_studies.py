"""What is kept of the study of an item, for its page."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import TypeAdapter

from quizsvc.scoring.item_study import ItemStudied, Part


@dataclass(frozen=True, slots=True)
class NumberParts:
    """How answers went by the size of one number that was given in the question."""

    name: str
    unit: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Exposure:
    """How often it was answered lately, among those studied, and by how many people."""

    week: int
    month: int
    people: int
    most_by_one: int


@dataclass(frozen=True, slots=True)
class Fitted:
    """Slope and difficulty in use, with the chance of guessing that goes with them."""

    slope: float
    difficulty: float
    guessing: float
    calibrated: bool


@dataclass(frozen=True, slots=True)
class KeptStudy:
    """A study as it is stored."""

    studied: ItemStudied
    fitted: Fitted
    numbers: tuple[NumberParts, ...]
    kinds: tuple[Part, ...]
    exposure: Exposure


STUDY: TypeAdapter[KeptStudy] = TypeAdapter(KeptStudy)


def study_from(text: str) -> KeptStudy:
    return STUDY.validate_json(text)
