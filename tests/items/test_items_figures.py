"""Figures of items: drawn from the same state as the key, and silent about it."""

from __future__ import annotations

import re

import pytest
from drawn_items import FAMILY_IDS, items_of

from quizsvc.figures.scene import Label
from quizsvc.items.model import Item, Kind
from quizsvc.items.options import number_text

pytestmark = pytest.mark.parametrize("family_id", FAMILY_IDS)


def some_items(family_id: str) -> list[Item]:
    return list(items_of(family_id)[::24])


def key_words(item: Item) -> list[str]:
    """Words that would give the answer away: the right option's text, or the number asked."""
    if item.kind in {Kind.ONE_CHOICE, Kind.SEVERAL_CHOICES}:
        words = [option.text for option in item.options if option.correct]
    elif isinstance(item.key.value, float):
        words = [number_text(item.key.value, item.asked.decimals, item.asked.unit)]
    else:
        words = []
    # Bare small numbers and letters stand in many a text without telling anything.
    return [word for word in words if len(word) > 2 and not word.isdigit()]


def tells(text: str, word: str) -> bool:
    return re.search(rf"(?<![\d.\w−]){re.escape(word)}(?![\d\w])", text) is not None


def test_every_item_has_a_figure_and_one_with_the_solution(family_id):
    for item in some_items(family_id):
        assert item.figure is not None, item.prompt
        assert item.solution_figure is not None, item.prompt


def test_the_alternative_text_is_that_of_the_drawn_figure(family_id):
    for item in some_items(family_id):
        if item.figure:
            assert item.figure().alt == item.figure_alt


def test_neither_figure_nor_alternative_text_names_the_key(family_id):
    for item in some_items(family_id):
        if not item.figure:
            continue
        scene = item.figure()
        shown = [shape.text for shape in scene.shapes if isinstance(shape, Label)]
        for word in key_words(item):
            if tells(item.prompt, word):
                continue  # a number that the prompt states anyway
            assert not tells(item.figure_alt, word), (word, item.figure_alt)
            assert not any(tells(text, word) for text in shown), (word, shown)


def test_the_solution_can_be_drawn(family_id):
    for item in some_items(family_id):
        if item.solution_figure:
            assert item.solution_figure().shapes
