"""Texts that nobody reads to the end, and marks that the prompt can't show."""

from __future__ import annotations

import re
from collections.abc import Iterator

from quizsvc.items.bank_check.words import answer_texts, sentences_of, words_of
from quizsvc.items.banks.keys import Found
from quizsvc.items.banks.lines import Path
from quizsvc.items.banks.schema import AnyItem, MatchItem
from quizsvc.items.markdown import plain_words

# Limits of words, common practice, no source: what stays readable on a phone in one look.
LONGEST_PROMPT = 110
LONGEST_SENTENCE = 34
LONGEST_ANSWER = 28
SHORTEST_PROMPT = 4
LONGEST_CAUTION = 90

_TABLES = {
    "one choice": ("options", "text"),
    "several choices": ("options", "text"),
    "order": ("sequence", "text"),
    "point on a figure": ("places", "name"),
}
_OUTSIDE_THE_SUBSET = re.compile(
    r"<[a-z/!]|!\[|\]\(|^\s{0,3}#{1,6} |^\s{0,3}>|```", re.IGNORECASE | re.MULTILINE
)


def unreadable(item: AnyItem) -> Iterator[Found]:
    count = len(words_of(plain_words(item.prompt)))
    if count > LONGEST_PROMPT:
        problem = f"the prompt has {count} words; at most {LONGEST_PROMPT} are read."
        yield "unreadable", ("prompt",), "", problem, "Leave out what does not help to answer."
    if count < SHORTEST_PROMPT:
        problem = "the prompt asks nothing that can be understood alone."
        yield "unreadable", ("prompt",), item.prompt.strip(), problem, "Ask a whole question."
    yield from _sentences(item)
    yield from _answers(item)
    found = _OUTSIDE_THE_SUBSET.search(item.prompt)
    if found:
        problem = "the prompt holds markup that is not shown."
        remedy = "Use paragraphs, lists, tables, *emphasis* and **strong**; pictures have a field."
        yield "markup", ("prompt",), found[0].strip(), problem, remedy


def _sentences(item: AnyItem) -> Iterator[Found]:
    for sentence in sentences_of(item.prompt):
        count = len(words_of(sentence))
        if count > LONGEST_SENTENCE:
            problem = f"a sentence has {count} words; at most {LONGEST_SENTENCE} are followed."
            yield "unreadable", ("prompt",), sentence[:60], problem, "Make two sentences of it."


def _answers(item: AnyItem) -> Iterator[Found]:
    for i, text in enumerate(answer_texts(item)):
        count = len(words_of(text))
        if count > LONGEST_ANSWER:
            problem = f"it has {count} words; at most {LONGEST_ANSWER} can be compared."
            yield "unreadable", _answer_path(item, i), text[:60], problem, "Say it shorter."


def _answer_path(item: AnyItem, place: int) -> Path:
    if isinstance(item, MatchItem):
        if place >= 2 * len(item.pairs):
            return ("others", place - 2 * len(item.pairs))
        return ("pairs", place // 2, "right" if place % 2 else "left")
    table, field = _TABLES[item.kind]
    return (table, place, field)
