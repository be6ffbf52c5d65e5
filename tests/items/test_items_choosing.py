from __future__ import annotations

from collections import Counter
from itertools import permutations

import pytest

from quizsvc.items.choosing import Draw


def test_the_same_parts_give_the_same_stream():
    one, other = Draw("family", 1, "sheet", 7), Draw("family", 1, "sheet", 7)

    assert [one.integer(0, 999) for _ in range(50)] == [other.integer(0, 999) for _ in range(50)]


def test_parts_are_not_run_together():
    assert Draw("a", "bc").integer(0, 1 << 60) != Draw("ab", "c").integer(0, 1 << 60)


FIXED = [9443, 10, 2676, 9942, 6904, 5100, 7767, 581, 603, 533]


def test_the_stream_is_fixed_for_ever():
    # BLAKE2b (RFC 7693) of the parts, eight little-endian words to a block, taken from the end.
    draw = Draw("fixed", 1)

    assert [draw.integer(0, 9999) for _ in range(10)] == FIXED


def test_integers_reach_both_ends_evenly():
    draw = Draw("even")

    counts = Counter(draw.integer(3, 7) for _ in range(5000))

    assert set(counts) == {3, 4, 5, 6, 7}
    assert sum((n - 1000) ** 2 / 1000 for n in counts.values()) < 24  # p about 1e-4


def test_every_order_comes_up_equally_often():
    draw = Draw("orders")

    counts = Counter(draw.shuffled("abcd") for _ in range(4800))

    assert set(counts) == set(permutations("abcd"))
    assert sum((n - 200) ** 2 / 200 for n in counts.values()) < 60  # 23 degrees, p about 4e-5


@pytest.mark.parametrize("count", [0, 1, 2, 12, 13, 40])
def test_shuffling_keeps_every_thing(count):
    things = tuple(range(count))

    assert sorted(Draw("many", count).shuffled(things)) == list(things)


def test_long_lists_are_shuffled_to_their_ends():
    firsts = {Draw("long", seed).shuffled(range(40))[0] for seed in range(400)}

    assert len(firsts) == 40


def test_steps_stay_within_their_bounds():
    draw = Draw("steps")

    values = {draw.step(0.5, 2.0, 0.25) for _ in range(300)}

    assert values == {0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0}


def test_a_chance_comes_up_as_often_as_stated():
    draw = Draw("chance")

    assert 850 < sum(draw.chance(0.3) for _ in range(3000)) < 950


def test_a_sample_holds_so_many_different_things():
    assert len(set(Draw("sample").sample("abcdef", 4))) == 4
