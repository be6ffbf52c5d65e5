"""What a log tells of an item: link, options, classes, numbers, drift, on made-up truth."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from quizsvc.errors import InputError
from quizsvc.scoring.competence import Belief, ItemParameters
from quizsvc.scoring.item_flags import Flag
from quizsvc.scoring.item_study import LoggedAnswer, Part, by_number, differ, parts_of, study
from quizsvc.scoring.standing import Standing
from quizsvc.scoring.together import group_standing


def log(count=400, *, slope=1.0, gap=0.0, after=0.0, seed=1):
    """Return answers of people with known levels; class B finds it harder by ``gap``."""
    chance = np.random.default_rng(seed)
    found = []
    for n in range(count):
        level, group = chance.normal(0, 1.2), "AB"[n % 2]
        hard = gap * (group == "B") + after * (n >= count / 2)
        right = chance.random() < 1 / (1 + np.exp(-slope * (level - hard)))
        wrong = "half" if level < 0 or chance.random() < 0.4 else "double"
        found.append(
            LoggedAnswer(
                bool(right),
                "right" if right else wrong,
                Belief(float(level), 0.02),
                ItemParameters(),
                group,
                f"engine, revision {1 + (n >= count / 2)}",
            )
        )
    return tuple(found)


RIGHT = frozenset({"right"})


def test_a_sound_item_links_with_level_fits_and_flags_nothing():
    found = study(log(), RIGHT)

    assert found.link > 0.3
    assert found.upper_lower > 0.4
    assert found.infit == pytest.approx(1.0, abs=0.1)
    assert found.findings == ()
    assert found.interval.low < found.right / found.answers < found.interval.high


def test_the_link_is_the_point_biserial_with_the_level_before():
    answers = log()

    expected = stats.pointbiserialr(
        [one.correct for one in answers], [one.level.mean for one in answers]
    ).statistic

    assert study(answers, RIGHT).link == pytest.approx(expected)


def test_an_item_whose_key_is_turned_round_is_flagged():
    found = study(log(slope=-1.2), RIGHT)

    assert Flag.KEY_MAY_BE_WRONG in {one.flag for one in found.findings}
    assert found.upper_lower < 0


def test_a_few_answers_that_happen_to_turn_round_are_not_flagged_as_wrong_keys():
    found = [study(log(31, slope=0.8, seed=seed), RIGHT) for seed in range(40)]

    flagged = [one for one in found if Flag.KEY_MAY_BE_WRONG in {f.flag for f in one.findings}]
    assert len(flagged) <= 4


def test_an_item_unfair_to_a_class_is_found_at_equal_level():
    unfair, fair = study(log(800, gap=1.6), RIGHT), study(log(800), RIGHT)

    assert {gap.group: gap.gap.size for gap in unfair.gaps}["B"] == "large"
    assert Flag.UNFAIR in {one.flag for one in unfair.findings}
    assert all(gap.gap.size == "negligible" for gap in fair.gaps)


def test_a_revision_that_makes_it_harder_is_seen_as_drift():
    assert study(log(600, after=1.5), RIGHT).drift.p < 0.001
    assert study(log(600), RIGHT).drift.p > 0.01


def test_revisions_of_different_engines_are_not_compared():
    mixed = [
        LoggedAnswer(True, "right", Belief(0, 1), ItemParameters(), "", f"{engine}, revision 1")
        for engine in ("one", "two")
        for _ in range(40)
    ]

    assert study(tuple(mixed), RIGHT).drift is None


def test_an_option_offered_and_never_taken_is_flagged():
    found = study(log(), RIGHT, offered=frozenset({"right", "half", "thrice"}))

    assert [one.flag for one in found.findings] == [Flag.NOBODY_TAKES_OPTION]
    assert "thrice" in found.findings[0].says


def test_nothing_is_studied_of_nothing():
    with pytest.raises(InputError):
        study((), RIGHT)


def test_numbers_are_put_in_three_ranges_low_to_high():
    values = [float(n) for n in range(30)]

    parts = by_number(values, [value < 10 for value in values], lambda v: f"{v:g}")

    assert [part.answers for part in parts] == [10, 10, 10]
    assert [part.right for part in parts] == [10, 0, 0]
    assert parts[0].label == "0 to 9"


def test_two_shares_are_compared_as_the_chi_square_test_does():
    first, second = Part("a", 120, 60), Part("b", 90, 63)

    table = [[60, 60], [63, 27]]
    expected = stats.chi2_contingency(table, correction=False).pvalue

    assert differ(first, second) == pytest.approx(expected, rel=1e-9)


def test_parts_keep_the_order_in_which_they_came():
    assert [p.label for p in parts_of([("b", True), ("a", False), ("b", False)])] == ["b", "a"]


def test_a_group_is_known_better_the_more_are_in_it():
    one = Standing(0.6, 0.4, 0.8, 12, 1.0, 0.05)
    few, many = group_standing((one,)), group_standing((one,) * 16)

    assert (many.high - many.low) == pytest.approx((few.high - few.low) / 4)
    assert (many.below, many.sure_below) == (16, 16)


def test_nobody_is_no_group():
    assert group_standing(()) is None
    assert group_standing((Standing(0.5, 0.2, 0.8, 0, 0.0, 0.3),)) is None
