"""The words of an item: all that a person reads before answering, and pieces of text."""

from __future__ import annotations

import re

from quizsvc.items.banks.schema import (
    AnyItem,
    ChoiceItem,
    MatchItem,
    NumberItem,
    OrderItem,
    PointItem,
)
from quizsvc.items.markdown import plain_words

_WORD = re.compile(r"[\w°]+(?:[-'’.,]\w+)*")
_SENTENCE_END = re.compile(r"(?<=[.!?:;])\s+")


def words_of(text: str) -> list[str]:
    return _WORD.findall(text.casefold())


def sentences_of(text: str) -> list[str]:
    return [part for part in _SENTENCE_END.split(plain_words(text)) if part]


def answer_texts(item: AnyItem) -> tuple[str, ...]:
    """Return the texts to choose from, to order, to match or to point at."""
    match item:
        case ChoiceItem(options=options):
            return tuple(option.text for option in options)
        case OrderItem(sequence=sequence):
            return tuple(thing.text for thing in sequence)
        case MatchItem(pairs=pairs, others=others):
            return (*(text for pair in pairs for text in (pair.left, pair.right)), *others)
        case PointItem(places=places):
            return tuple(place.name for place in places)
        case NumberItem():
            return ()


def right_texts(item: AnyItem) -> tuple[str, ...]:
    """Return what is right, in words (nothing where the answer is a number)."""
    match item:
        case ChoiceItem(options=options):
            return tuple(option.text for option in options if option.correct)
        case PointItem(places=places):
            return tuple(place.name for place in places if place.correct)
        case _:
            return answer_texts(item)


def shown_text(item: AnyItem) -> str:
    """Return all that is read before the answer, one piece a line."""
    return "\n".join((plain_words(item.prompt), *answer_texts(item)))
