"""Whether a later version of an item would mark an answer to an earlier one otherwise."""

from __future__ import annotations

from collections.abc import Mapping

from quizsvc.items.banks.keys import same_text
from quizsvc.items.banks.schema import (
    AnyItem,
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
)
from quizsvc.items.markdown import plain_words


def key_changed(before: AnyItem, after: AnyItem) -> bool:
    """Return whether the key differs where both versions speak of the same things."""
    match before, after:
        case ChoiceItem(), ChoiceItem():
            return before.kind == after.kind and _differ(_right(before), _right(after))
        case NumberItem(), NumberItem():
            old, new = before.answer, after.answer
            return old.unit == new.unit and (
                (old.value, old.tolerance) != (new.value, new.tolerance)
            )
        case OrderItem(), OrderItem():
            return _rules(before) != _rules(after)
        case MatchItem(), MatchItem():
            return _differ(_partners(before), _partners(after))
        case PointItem(), PointItem():
            return before.picture == after.picture and _areas(before) != _areas(after)
        case _:
            return False


def same_question(before: AnyItem, after: AnyItem) -> bool:
    """Return whether both ask the same in the same words, so that answers carry over."""
    return same_text(plain_words(before.prompt)) == same_text(plain_words(after.prompt))


def _differ(old: Mapping[str, object], new: Mapping[str, object]) -> bool:
    return any(old[name] != new[name] for name in old.keys() & new.keys())


def _right(item: ChoiceItem) -> dict[str, object]:
    return {same_text(option.text): option.correct for option in item.options}


def _rules(item: OrderItem) -> set[tuple[str, str]]:
    text = {thing.id: same_text(thing.text) for thing in item.sequence}
    return {(text[rule.first], text[rule.later]) for rule in item.before}


def _partners(item: MatchItem) -> dict[str, object]:
    return {same_text(pair.left): same_text(pair.right) for pair in item.pairs}


def _areas(item: PointItem) -> set[tuple[object, ...]]:
    return {(place.at, place.radius) for place in item.places if place.correct}
