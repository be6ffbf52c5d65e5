"""From a family's question to an item: options chosen, checked against each other and shuffled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from quizsvc.items.choosing import Draw
from quizsvc.items.model import (
    Area,
    Asked,
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
from quizsvc.sheets.schema import EngineSheet

WRONG_OPTIONS = 3


class Redraw(Exception):  # noqa: N818 - a wish, not a fault
    """The numbers drawn make no fair question; draw again."""


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
class Wrong:
    """What a named misconception really computes, and why it is wrong in one sentence."""

    misconception: str
    value: Value
    rationale: str
    text: str = ""  # shown words, where the value alone would not do


@dataclass(frozen=True, slots=True)
class Question:
    """What a family says; `assemble` makes an item of it.

    For a number (typed or chosen): ``value``, ``tolerance``, ``wrong``. For words: ``right``
    (value, shown text) pairs and ``wrong``. For order, match and point: see `Key`.
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
    sequence: tuple[str, ...] = ()
    before: tuple[tuple[str, str, str], ...] = ()
    pairs: tuple[tuple[str, str], ...] = ()
    areas: tuple[Area, ...] = ()
    places: tuple[Area, ...] = ()
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
    options = _options(question, draw, kind)
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
        key=Key(
            value=_shown(question.value, question.asked.decimals),
            tolerance=question.tolerance,
            sequence=question.sequence,
            before=question.before,
            pairs=question.pairs,
            areas=question.areas,
        ),
        options=options,
        steps=question.steps,
        figure=question.figure,
        solution_figure=question.solution_figure,
        figure_alt=question.figure_alt,
        caution=" ".join(filter(None, (family.caution, question.caution))),
        reference=question.reference,
        places=question.places,
    )


def number_text(value: float, decimals: int, unit: str) -> str:
    """Return the number as shown: fixed decimals, a true minus sign, its unit."""
    shown = f"{value:.{decimals}f}"
    if float(shown) == 0:
        shown = shown.lstrip("-")
    shown = shown.replace("-", "−")
    gap = "" if unit in {"°", "%", ""} else " "
    return f"{shown}{gap}{unit}"


def _shown(value: Value | None, decimals: int) -> Value | None:
    if isinstance(value, float):
        return round(value, decimals) + 0.0
    return value


def _options(question: Question, draw: Draw, kind: Kind) -> tuple[Option, ...]:
    if kind in {Kind.ORDER, Kind.MATCH, Kind.POINT, Kind.BENCH}:
        return ()
    if question.right:
        return _word_options(question, draw, kind)
    return _number_options(question, draw, kind)


def _number_options(question: Question, draw: Draw, kind: Kind) -> tuple[Option, ...]:
    decimals, unit = question.asked.decimals, question.asked.unit
    if not isinstance(question.value, int | float):
        raise TypeError("a number question needs a number as its value")
    key = round(float(question.value), decimals)
    # Half a unit of the last shown place on either side keeps rounding from making two agree.
    apart = max(question.tolerance, 10.0**-decimals) * 1.000001
    taken = [key]
    kept: list[Wrong] = []
    for wrong in draw.shuffled(question.wrong):
        value = round(float(wrong.value), decimals)  # type: ignore[arg-type]
        if abs(value - key) <= apart or any(abs(value - other) <= 0 for other in taken):
            continue
        taken.append(value)
        kept.append(wrong)
        if len(kept) == WRONG_OPTIONS and kind is Kind.ONE_CHOICE:
            break
    if len(kept) < (WRONG_OPTIONS if kind is Kind.ONE_CHOICE else 1):
        raise Redraw
    options = [
        Option(
            number_text(key, decimals, unit), key, correct=True, rationale=question.right_because
        )
    ]
    options += [
        Option(
            number_text(round(float(w.value), decimals), decimals, unit),  # type: ignore[arg-type]
            round(float(w.value), decimals) + 0.0,  # type: ignore[arg-type]
            correct=False,
            misconception=w.misconception,
            rationale=w.rationale,
        )
        for w in kept
    ]
    return draw.shuffled(options)


def _word_options(question: Question, draw: Draw, kind: Kind) -> tuple[Option, ...]:
    if kind is Kind.ONE_CHOICE and len(question.right) != 1:
        raise Redraw
    options = [
        Option(text, value, correct=True, rationale=question.right_because)
        for value, text in question.right
    ]
    texts = {option.text for option in options}
    wanted = WRONG_OPTIONS if kind is Kind.ONE_CHOICE else len(question.wrong)
    for wrong in draw.shuffled(question.wrong):
        text = wrong.text or str(wrong.value)
        if text in texts:
            continue
        texts.add(text)
        options.append(
            Option(
                text,
                wrong.value,
                correct=False,
                misconception=wrong.misconception,
                rationale=wrong.rationale,
            )
        )
        if len(options) - len(question.right) == wanted:
            break
    if kind is Kind.ONE_CHOICE and len(options) <= WRONG_OPTIONS:
        raise Redraw
    return draw.shuffled(options)
