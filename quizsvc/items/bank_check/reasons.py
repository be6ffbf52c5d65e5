"""Answers that leave the learner without a reason."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.items.banks.keys import Found, same_text
from quizsvc.items.banks.lines import Path
from quizsvc.items.banks.schema import (
    AnyItem,
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
    WrittenOption,
)

LEAST_CHARACTERS = 20  # "Wrong." and "See above." teach nobody

_Reason = tuple[Path, str, str]  # where, the reason, the text that it is about


def reasons_missing(item: AnyItem) -> Iterator[Found]:
    for path, reason, about in _reasons(item):
        if not reason.strip():
            remedy = "Say in one sentence why it is right, or what is wrong in it."
            yield "no-rationale", path, about, "it has no rationale.", remedy
        elif len(reason.strip()) < LEAST_CHARACTERS or same_text(reason) == same_text(about):
            remedy = "Say what is behind it: the part, the force, the consequence."
            yield "no-rationale", path, reason, "the rationale explains nothing.", remedy


def _reasons(item: AnyItem) -> Iterator[_Reason]:
    match item:
        case ChoiceItem(options=options):
            yield from _option_reasons(options)
        case NumberItem():
            yield from _number_reasons(item)
        case OrderItem(before=rules):
            for i, rule in enumerate(rules):
                yield ("before", i, "why"), rule.why, f"{rule.first} before {rule.later}"
        case MatchItem(pairs=pairs):
            for i, pair in enumerate(pairs):
                yield ("pairs", i, "rationale"), pair.rationale, pair.left
        case PointItem(places=places):
            for i, place in enumerate(places):
                yield ("places", i, "rationale"), place.rationale, place.name


def _option_reasons(options: tuple[WrittenOption, ...]) -> Iterator[_Reason]:
    for i, option in enumerate(options):
        # A named misconception brings its own sentence of what is so.
        if not option.misconception or option.rationale:
            yield ("options", i, "rationale"), option.rationale, option.text


def _number_reasons(item: NumberItem) -> Iterator[_Reason]:
    if not item.steps:
        yield ("answer", "rationale"), item.answer.rationale, f"{item.answer.value:g}"
    for i, number in enumerate(item.expected):
        if not number.misconception or number.rationale:
            yield ("expected", i, "rationale"), number.rationale, f"{number.value:g}"
