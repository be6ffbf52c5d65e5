"""What every family promises, whoever wrote it: thousands of items on every shipped sheet."""

from __future__ import annotations

import math
import re
from collections import Counter
from itertools import combinations

import pytest
from drawn_items import CHOOSING, FAMILY_IDS, SEEDS, items_at, items_of, numbers_in, of_kind

from quizsvc.items.family import all_families, draw_item
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Item, Kind
from quizsvc.items.options import CYCLE_DEG, number_text
from quizsvc.items.topics import find_topic
from quizsvc.sheets.loading import shipped_sheets

pytestmark = pytest.mark.parametrize("family_id", FAMILY_IDS)

# Outside these a value would be absurd on any engine; generous on purpose.
PLAUSIBLE = {
    "°": (-720, 1440),
    "mm": (-400, 3000),
    "cc": (0, 20000),
    "%": (-100, 100),
    "turns": (0, 5000),
}
SAYINGS = {
    "advanced": ("advance", "early", "ahead", "too soon", "past its"),
    "retarded": ("retard", "late", "behind", "not yet"),
}
# Chi-square with 3 degrees of freedom exceeds 25 once in 60 000 fair draws.
TOO_UNEVEN = 25.0


def right_options(item: Item) -> list[float | object]:
    return [option for option in item.options if option.correct]


def rights_of(item: Item) -> list[float]:
    value = item.key.value
    values = value if isinstance(value, tuple) else (value,)
    return [float(one) for one in values if isinstance(one, int | float)]


def all_numbers(item: Item) -> bool:
    """Say whether bare numbers are offered, not verdicts with a number in them."""
    return item.kind is Kind.ONE_CHOICE and all(
        isinstance(option.value, int | float)
        and option.text == number_text(option.value, item.asked.decimals, item.asked.unit)
        for option in item.options
    )


def is_said(value: float | str, numbers: set[float], words: str) -> bool:
    """Say whether a given stands in the prompt; nought and a minus may stand there as words."""
    if isinstance(value, str):
        ways = SAYINGS.get(value, (value.lower(),))
        return any(way in words for way in ways) or "_" in value  # contract name of another given
    if value == 0 and re.search(r"upright|level|flat|\bno\b|none|without|in time|at [tb]dc", words):
        return True
    return any(math.isclose(abs(value), abs(one), rel_tol=1e-5) for one in numbers)


def test_it_suits_a_shipped_sheet(family_id):
    items = items_of(family_id)

    assert len(items) >= SEEDS


def test_one_choice_has_four_options_and_exactly_one_is_right(family_id):
    for item in of_kind(family_id, Kind.ONE_CHOICE):
        assert len(item.options) == 4, item.prompt
        assert len(right_options(item)) == 1, item.prompt


def test_several_choices_and_points_offer_right_and_wrong_ones(family_id):
    for item in of_kind(family_id, Kind.SEVERAL_CHOICES, Kind.POINT):
        right = len(right_options(item))

        assert 1 <= right < len(item.options), item.prompt
        if item.kind is Kind.POINT:
            names = [place.name for place in item.places]
            assert sorted(names) == sorted(option.text for option in item.options)
            assert {area.name for area in item.key.areas} == {
                option.text for option in item.options if option.correct
            }


def test_no_two_options_agree_as_shown(family_id):
    for item in items_of(family_id):
        texts = [option.text for option in item.options]

        assert len(set(texts)) == len(texts), (item.prompt, texts)


def test_the_right_option_is_the_key(family_id):
    for item in items_of(family_id):
        if item.key.value is None or not item.options:
            continue
        (right,) = right_options(item)
        if isinstance(right.value, int | float):
            assert right.value in rights_of(item), item.prompt


def test_no_wrong_number_lies_within_the_tolerance(family_id):
    for item in items_of(family_id):
        if item.kind not in {Kind.NUMBER, Kind.BENCH} and not all_numbers(item):
            continue
        period = CYCLE_DEG if item.kind is Kind.BENCH and item.asked.unit == "°" else math.inf
        for option in item.options:
            if option.correct or not isinstance(option.value, int | float):
                continue
            for right in rights_of(item):
                apart = abs(option.value - right)
                apart = apart if period is math.inf else min(apart % period, -apart % period)
                assert apart > item.key.tolerance, (item.prompt, option)


def test_every_wrong_option_cites_a_misconception_of_the_family(family_id):
    family = all_families()[family_id]
    known = all_misconceptions()

    assert set(family.misconceptions) <= set(known)
    for item in items_of(family_id):
        for option in item.options:
            assert bool(option.misconception) != option.correct, (item.prompt, option)
            if not option.correct:
                assert option.misconception in family.misconceptions, option
                assert option.rationale, option


def test_at_least_three_misconceptions_are_seen_at_work(family_id):
    family = all_families()[family_id]

    seen = {option.misconception for item in items_of(family_id) for option in item.options}

    assert len(set(family.misconceptions)) >= 3
    assert len(seen - {""}) >= 3
    assert set(family.misconceptions) == seen - {""}, "a misconception that is never met"


def test_the_prompt_states_unit_and_rounding(family_id):
    words = {"°": "degree", "cc": "cc", "%": "per", "turns": "turns", "mm": "mm"}
    for item in items_of(family_id):
        if item.kind is not Kind.NUMBER and not all_numbers(item):
            continue
        unit = item.asked.unit
        assert words.get(unit, unit) in item.prompt, (unit, item.prompt)
        if item.asked.decimals or item.key.tolerance:  # else exact as it comes
            assert re.search(r"whole|decimal|nearest|round", item.prompt), item.prompt


def test_every_given_is_named_in_the_prompt(family_id):
    for item in items_of(family_id):
        said = numbers_in(item.prompt) | numbers_in(item.prompt.replace("-", " "))
        words = item.prompt.lower()
        for name, given in item.givens.items():
            values = given.value if isinstance(given.value, tuple) else (given.value,)
            for value in values:
                assert is_said(value, said, words), (name, item.prompt)


def test_values_are_plausible(family_id):
    for item in items_of(family_id):
        low, high = PLAUSIBLE.get(item.asked.unit, (-1e6, 1e6))
        for right in rights_of(item):
            assert math.isfinite(right)
            assert low <= right <= high, item.prompt
        for given in item.givens.values():
            values = given.value if isinstance(given.value, tuple) else (given.value,)
            assert all(math.isfinite(one) for one in values if not isinstance(one, str))


def test_the_same_recipe_gives_the_same_item_and_other_seeds_others(family_id):
    family = all_families()[family_id]
    items = items_of(family_id)
    sheets = shipped_sheets()

    again = [draw_item(family, sheets[item.sheet], seed) for seed, item in enumerate(items[:20])]

    assert again == list(items[:20])
    assert len({item.prompt for item in items}) > 3


def test_the_right_option_stands_in_each_place_equally_often(family_id):
    places = Counter(
        place
        for item in of_kind(family_id, Kind.ONE_CHOICE)
        for place, option in enumerate(item.options)
        if option.correct
    )
    total = places.total()
    if not total:
        assert Kind.ONE_CHOICE not in all_families()[family_id].kinds
        return

    fair = total / 4
    uneven = sum((places[place] - fair) ** 2 / fair for place in range(4))

    assert uneven < TOO_UNEVEN, places


def test_the_key_is_not_given_away_by_its_rank(family_id):
    items = [item for item in of_kind(family_id, Kind.ONE_CHOICE) if all_numbers(item)]
    if not items:
        return
    ranks = Counter(
        sorted(option.value for option in item.options).index(right.value)
        for item in items
        for right in right_options(item)
    )

    assert ranks.most_common(1)[0][1] <= 0.7 * len(items), ranks


def test_the_key_is_not_given_away_by_its_length(family_id):
    items = [item for item in of_kind(family_id, Kind.ONE_CHOICE) if not all_numbers(item)]
    longest = [
        item
        for item in items
        for right in right_options(item)
        if all(len(right.text) > len(o.text) for o in item.options if not o.correct)
    ]

    assert len(longest) <= 0.5 * len(items)


def test_every_level_can_be_drawn_and_changes_the_question(family_id):
    asked = []
    for level in all_families()[family_id].levels:
        items = items_at(family_id, level)
        assert items, level
        assert {item.level for item in items} == {level}
        asked.append({what_is_asked(item) for item in items})

    for one, other in combinations(asked, 2):
        alike = len(one & other) / min(len(one), len(other))
        assert alike < 0.5, alike


def what_is_asked(item: Item) -> tuple[object, ...]:
    """Return the prompt without its numbers, and the numbers."""
    words = re.sub(r"[\d.,−–]+", "#", item.prompt)
    return words, tuple(str(given.value) for given in item.givens.values())


def test_every_kind_can_be_drawn(family_id):
    family = all_families()[family_id]

    drawn = {item.kind for item in items_of(family_id)}

    assert drawn == set(family.kinds)
    find_topic(family.topic)


def test_steps_are_worked_with_numbers(family_id):
    for item in items_of(family_id):
        assert len(item.steps) >= 2, item.prompt
        assert any(numbers_in(step.text) for step in item.steps), item.prompt


def test_order_and_match_lay_out_what_the_key_speaks_of(family_id):
    for item in items_of(family_id):
        assert sorted(item.things) == sorted(item.key.sequence)
        assert item.left == tuple(left for left, _ in item.key.pairs)
        assert {right for _, right in item.key.pairs} <= set(item.right)
        assert len(set(item.things)) == len(item.things)
        assert len(set(item.left)) == len(item.left)
        if item.kind is Kind.ORDER:
            assert item.things != item.key.sequence, "already in order"


def test_nothing_of_the_answer_is_among_what_is_shown(family_id):
    for item in items_of(family_id):
        if item.kind not in CHOOSING:
            assert item.shown_options == ()
        assert (item.bench is not None) == (item.kind is Kind.BENCH)
