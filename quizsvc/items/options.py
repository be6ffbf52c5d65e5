"""The options of an item: which wrong answers stand beside the right one, and in what order."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from quizsvc.items.choosing import Draw
from quizsvc.items.model import Asked, Kind, Option, Value

WRONG_OPTIONS = 3
CYCLE_DEG = 720.0  # after so much the crank angle of a four-stroke comes round again

S = TypeVar("S")
S_contra = TypeVar("S_contra", contravariant=True)


class Redraw(Exception):  # noqa: N818 - a wish, not a fault
    """The numbers drawn make no fair question; draw again."""


@dataclass(frozen=True, slots=True)
class Wrong:
    """What a named misconception really computes, and why it is wrong in one sentence."""

    misconception: str
    value: Value
    rationale: str
    text: str = ""  # shown words, where the value alone would not do


@dataclass(frozen=True, slots=True)
class Idea(Generic[S]):
    """A misconception at work in one family: what it makes of the family's numbers.

    ``answer`` returns None where the idea leads to no answer at all.
    """

    misconception: str
    answer: Callable[[S], Value | None]
    because: str


def wrong_answers(
    ideas: Iterable[Idea[S]], state: S, text: Callable[[Value], str] | None = None
) -> tuple[Wrong, ...]:
    """Compute what each idea makes of the state."""
    found = []
    for idea in ideas:
        value = idea.answer(state)
        if value is not None:
            found.append(
                Wrong(idea.misconception, value, idea.because, text(value) if text else "")
            )
    return tuple(found)


class Offered(Protocol):
    """What the choice of options needs to know of a question (see `assemble.Question`)."""

    @property
    def asked(self) -> Asked: ...
    @property
    def value(self) -> Value | None: ...
    @property
    def tolerance(self) -> float: ...
    @property
    def right(self) -> tuple[tuple[Value, str], ...]: ...
    @property
    def right_because(self) -> str: ...
    @property
    def wrong(self) -> tuple[Wrong, ...]: ...
    @property
    def keep(self) -> str: ...
    @property
    def sequence(self) -> tuple[str, ...]: ...
    @property
    def pairs(self) -> tuple[tuple[str, str], ...]: ...


def number_text(value: float, decimals: int, unit: str) -> str:
    """Return the number as shown: fixed decimals, a true minus sign, its unit.

    >>> number_text(-0.75, 2, "°"), number_text(12, 1, "mm")
    ('−0.75°', '12.0 mm')
    """
    shown = f"{value:.{decimals}f}"
    if shown[0] == "-":
        shown = "−" + shown[1:] if float(shown) else shown[1:]
    return f"{shown}{unit}" if unit in {"°", "%", ""} else f"{shown} {unit}"


def rounded(value: Value, decimals: int) -> Value:
    """Return a number as shown, anything else as it is."""
    return round(value, decimals) + 0.0 if isinstance(value, float) else value


def number_options(question: Offered, draw: Draw, kind: Kind) -> tuple[Option, ...]:
    """Return the right number and wrong ones: three to choose from, or all as predictions."""
    rights = _rights(question)
    key = rights[0]
    fair = _fair_numbers(question, rights, kind, draw)
    if kind is Kind.ONE_CHOICE:
        fair = _three_around(key, fair, question.keep, draw)
    elif not fair:
        raise Redraw
    decimals, unit = question.asked.decimals, question.asked.unit
    options = [Option(number_text(key, decimals, unit), key, True, "", question.right_because)]
    options += [
        Option(
            number_text(value, decimals, unit),
            value,
            False,
            wrong.misconception,
            wrong.rationale,
        )
        for value, wrong in fair
    ]
    return draw.shuffled(options)


def word_options(question: Offered, draw: Draw, kind: Kind) -> tuple[Option, ...]:
    """Return right and wrong words: one right and three wrong, or all of both."""
    one = kind is Kind.ONE_CHOICE
    if one and len(question.right) != 1:
        raise Redraw
    right = [
        Option(
            text,
            rounded(value, question.asked.decimals),
            correct=True,
            rationale=question.right_because,
        )
        for value, text in question.right
    ]
    wrong = _fair_words(question, draw)
    if one:
        wrong = wrong[:WRONG_OPTIONS]
    if one and len(wrong) < WRONG_OPTIONS:
        raise Redraw
    return draw.shuffled(right + wrong)


def predictions(question: Offered) -> tuple[Option, ...]:
    """Return what wrong ideas make of an order or a match; nobody chooses from these."""
    right = question.sequence or tuple(text for _, text in question.pairs)
    seen: set[Value] = {right}
    options = [Option(", ".join(right), right, correct=True, rationale=question.right_because)]
    for wrong in question.wrong:
        if wrong.value in seen or not isinstance(wrong.value, tuple):
            continue
        seen.add(wrong.value)
        options.append(
            Option(
                ", ".join(str(part) for part in wrong.value),
                wrong.value,
                correct=False,
                misconception=wrong.misconception,
                rationale=wrong.rationale,
            )
        )
    return tuple(options)


def _number(value: Value | None, decimals: int) -> float:
    # Anything but a number makes float() raise, which is a fault of the family.
    return round(float(value), decimals) + 0.0  # type: ignore[arg-type]


def _rights(question: Offered) -> tuple[float, ...]:
    value, decimals = question.value, question.asked.decimals
    values = value if isinstance(value, tuple) else (value,)
    return tuple(_number(one, decimals) for one in values)


def _fair_numbers(
    question: Offered, rights: tuple[float, ...], kind: Kind, draw: Draw
) -> list[tuple[float, Wrong]]:
    """Return the wrong values that differ, as shown, from all that is right and each other."""
    decimals = question.asked.decimals
    # Half a unit of the last shown place on either side keeps rounding from making two agree.
    # A count asked for exactly (pins, teeth) is not rounded: there one more is another answer.
    counted = not decimals and not question.tolerance
    apart = 0.5 if counted else max(question.tolerance, 10.0**-decimals) * 1.000001
    period = CYCLE_DEG if kind is Kind.BENCH and question.asked.unit == "°" else math.inf
    kept: dict[float, Wrong] = {}
    for wrong in _kept_first(question, draw):
        value = _number(wrong.value, decimals)
        for right in rights:
            off = abs(value - right) % period
            if off <= apart or period - off <= apart:
                break
        else:
            kept.setdefault(value, wrong)
    return list(kept.items())


def _three_around(
    key: float, fair: Sequence[tuple[float, Wrong]], keep: str, draw: Draw
) -> list[tuple[float, Wrong]]:
    """Choose three so that the key stands at each rank as often as the ideas allow.

    Taking three at random would leave the key mostly in the middle of the values, or wherever
    the more numerous ideas put it, and who knows that needs no trade.
    """
    low = [one for one in fair if one[0] < key]
    high = [one for one in fair if one[0] > key]
    fewest = max(0, WRONG_OPTIONS - len(high))
    most = min(WRONG_OPTIONS, len(low))
    if keep and low and low[0][1].misconception == keep:
        fewest = max(fewest, 1)
    if keep and high and high[0][1].misconception == keep:
        most = min(most, WRONG_OPTIONS - 1)
    if most < fewest:
        raise Redraw
    below = draw.integer(fewest, most)
    return low[:below] + high[: WRONG_OPTIONS - below]


def _fair_words(question: Offered, draw: Draw) -> list[Option]:
    texts = {text for _, text in question.right}
    options = []
    for wrong in _kept_first(question, draw):
        text = wrong.text or str(wrong.value)
        if text in texts:
            continue
        texts.add(text)
        options.append(
            Option(
                text,
                rounded(wrong.value, question.asked.decimals),
                correct=False,
                misconception=wrong.misconception,
                rationale=wrong.rationale,
            )
        )
    return options


def _kept_first(question: Offered, draw: Draw) -> tuple[Wrong, ...]:
    wrongs = draw.shuffled(question.wrong)
    if not question.keep:
        return wrongs
    return tuple(sorted(wrongs, key=lambda wrong: wrong.misconception != question.keep))
