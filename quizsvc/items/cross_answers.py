"""Hand-written items that must not stand in one test: one repeats or answers the other."""

from __future__ import annotations

from collections.abc import Mapping

from quizsvc.items.bank_check.duplicates import NEAR, shingles_of
from quizsvc.items.bank_check.words import right_texts, words_of
from quizsvc.items.banks.schema import AnyItem
from quizsvc.items.markdown import plain_words

FEWEST_WORDS = 3  # a right answer of fewer words stands in many prompts by chance


def cross_answers(items: Mapping[str, AnyItem]) -> dict[str, frozenset[str]]:
    """Return for each item the others it nearly repeats, answers or is answered by."""
    prompts = {name: frozenset(words_of(plain_words(item.prompt))) for name, item in items.items()}
    rights = {name: _long_rights(item) for name, item in items.items()}
    shingles = {name: shingles_of(item) for name, item in items.items()}
    found: dict[str, set[str]] = {name: set() for name in items}
    names = sorted(items)
    for place, one in enumerate(names):
        for other in names[place + 1 :]:
            told = _told(rights[one], prompts[other]) or _told(rights[other], prompts[one])
            if told or _alike(shingles[one], shingles[other]):
                found[one].add(other)
                found[other].add(one)
    return {name: frozenset(others) for name, others in found.items()}


def _long_rights(item: AnyItem) -> tuple[frozenset[str], ...]:
    texts = (frozenset(words_of(text)) for text in right_texts(item))
    return tuple(words for words in texts if len(words) >= FEWEST_WORDS)


def _told(rights: tuple[frozenset[str], ...], prompt: frozenset[str]) -> bool:
    return any(words <= prompt for words in rights)


def _alike(one: frozenset[tuple[str, ...]], other: frozenset[tuple[str, ...]]) -> bool:
    return len(one & other) >= NEAR * len(one | other)
