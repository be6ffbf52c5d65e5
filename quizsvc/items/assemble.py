"""From a family's question to an item: options chosen and shuffled, key and columns laid out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from quizsvc.items.choosing import Draw
from quizsvc.items.model import (
    Area,
    Asked,
    BenchStart,
    Figure,
    Given,
    Item,
    Key,
    Kind,
    Level,
    Option,
    Step,
    Value,
)
from quizsvc.items.options import (
    WRONG_OPTIONS,
    Redraw,
    Wrong,
    number_options,
    number_text,
    predictions,
    rounded,
    word_options,
)
from quizsvc.sheets.schema import EngineSheet

__all__ = [
    "WRONG_OPTIONS",
    "Described",
    "Question",
    "Redraw",
    "Wrong",
    "assemble",
    "number_text",
]

STEP_DECIMALS = 3


class Described(Protocol):
    """What `assemble` needs to know of a family (see `quizsvc.items.family.Family`)."""

    @property
    def id(self) -> str: ...
    @property
    def version(self) -> int: ...
    @property
    def topic(self) -> str: ...
    @property
    def caution(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Question:
    """What a family says; `assemble` makes an item of it.

    - number, typed or chosen: ``value``, ``tolerance``, ``wrong``;
    - words, one or several right: ``right`` as (value, shown text) pairs, ``wrong``;
    - order: ``sequence`` and the rules ``before``; ``wrong`` values are whole orders;
    - match: ``pairs`` (one for each thing on the left) and ``spare_right``; ``wrong`` values
      are the right-hand texts in the order of ``pairs``;
    - point: ``places``, named; ``right`` and ``wrong`` name them as their values;
    - bench: ``bench``, ``value`` (several right numbers as a tuple), ``tolerance``, ``wrong``.

    ``keep`` is the misconception whose answer must be among the options (the prompt speaks of
    it).
    """

    prompt: str
    givens: dict[str, Given]
    asked: Asked
    steps: tuple[Step, ...]
    value: Value | None = None
    tolerance: float = 0.0
    right: tuple[tuple[Value, str], ...] = ()
    right_because: str = ""
    wrong: tuple[Wrong, ...] = ()
    keep: str = ""
    sequence: tuple[str, ...] = ()
    before: tuple[tuple[str, str, str], ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    spare_right: tuple[str, ...] = ()
    places: tuple[Area, ...] = ()
    bench: BenchStart | None = None
    figure: Figure | None = None
    solution_figure: Figure | None = None
    figure_alt: str = ""
    caution: str = ""  # on top of the family's own
    reference: str = ""


def assemble(
    family: Described,
    sheet: EngineSheet,
    question: Question,
    draw: Draw,
    level: Level,
    kind: Kind,
) -> Item:
    """Make the item, or raise `Redraw` where its options would not be fair."""
    left, right = _columns(question, draw)
    return Item(
        family=family.id,
        version=family.version,
        topic=family.topic,
        level=level,
        kind=kind,
        sheet=sheet.id,
        revision=sheet.revision,
        prompt=question.prompt,
        givens=question.givens,
        asked=question.asked,
        key=_key(question),
        options=_options(question, draw, kind),
        steps=tuple(_shown_step(step) for step in question.steps),
        figure=question.figure,
        solution_figure=question.solution_figure,
        figure_alt=question.figure_alt,
        caution=" ".join(filter(None, (family.caution, question.caution))),
        reference=question.reference,
        places=question.places,
        things=_things(question, draw),
        left=left,
        right=right,
        bench=question.bench,
    )


def _options(question: Question, draw: Draw, kind: Kind) -> tuple[Option, ...]:
    if kind in {Kind.ORDER, Kind.MATCH}:
        return predictions(question)
    if question.right:
        return word_options(question, draw, kind)
    return number_options(question, draw, kind)


def _key(question: Question) -> Key:
    decimals = question.asked.decimals
    return Key(
        value=_key_value(question.value, decimals),
        tolerance=question.tolerance,
        sequence=question.sequence,
        before=question.before,
        pairs=question.pairs,
        areas=_right_areas(question) if question.places else (),
    )


def _right_areas(question: Question) -> tuple[Area, ...]:
    right = {value for value, _ in question.right}
    return tuple(area for area in question.places if area.name in right)


def _key_value(value: Value | None, decimals: int) -> Value | None:
    if isinstance(value, tuple):
        return tuple(round(float(one), decimals) + 0.0 for one in value)
    return None if value is None else rounded(value, decimals)


def _shown_step(step: Step) -> Step:
    """Round a step's number to what anybody would read; the text says what matters."""
    value = step.value
    if not isinstance(value, float) or (shown := round(value, STEP_DECIMALS)) == value:
        return step
    return Step(step.text, shown + 0.0, step.unit)


def _things(question: Question, draw: Draw) -> tuple[str, ...]:
    """Shuffle what is to be put in order, never into the right order by chance."""
    if not question.sequence:
        return ()
    things = draw.shuffled(question.sequence)
    if things == question.sequence:
        raise Redraw
    return things


def _columns(question: Question, draw: Draw) -> tuple[tuple[str, ...], tuple[str, ...]]:
    if not question.pairs:
        return (), ()
    right = dict.fromkeys([right for _, right in question.pairs] + list(question.spare_right))
    return tuple(left for left, _ in question.pairs), draw.shuffled(tuple(right))
