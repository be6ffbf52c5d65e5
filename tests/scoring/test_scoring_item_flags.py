"""Flags: what a shop sees of an item that misbehaves."""

import numpy as np
import pytest

from quizsvc.errors import InputError
from quizsvc.scoring.classical import DistractorCurve
from quizsvc.scoring.differential import mantel_haenszel
from quizsvc.scoring.item_flags import ENOUGH_ANSWERS, Flag, ItemStatistics, item_findings


def statistics(**changes):
    return ItemStatistics(**({"answers": 200, "difficulty": 0.6, "link": 0.35} | changes))


def curve(option, link, *, correct=False, share=0.25):
    return DistractorCurve(option, correct, (share, share), share, link)


def flags(item):
    return [finding.flag for finding in item_findings(item)]


def test_a_sound_item_has_no_findings():
    curves = (curve("A", 0.4, correct=True), curve("B", -0.2), curve("C", -0.2))

    assert flags(statistics(curves=curves)) == []


def test_an_item_that_strong_learners_miss_may_have_a_wrong_key():
    curves = (curve("A", -0.2, correct=True), curve("B", 0.35), curve("C", -0.1))

    findings = item_findings(statistics(link=-0.2, curves=curves))

    assert findings[0].flag is Flag.KEY_MAY_BE_WRONG
    assert "Option B" in findings[0].says


def test_an_option_nobody_takes_is_named():
    curves = (curve("A", 0.4, correct=True), curve("B", -0.1, share=0.01))

    findings = item_findings(statistics(curves=curves))

    assert [f.flag for f in findings] == [Flag.NOBODY_TAKES_OPTION]
    assert "Option B" in findings[0].says


@pytest.mark.parametrize(
    ("changes", "flag"),
    [
        ({"difficulty": 0.97}, Flag.TOO_EASY),
        ({"difficulty": 0.1}, Flag.TOO_HARD),
        ({"link": 0.05}, Flag.TELLS_LITTLE),
        ({"unfair": "Class B"}, Flag.UNFAIR),
    ],
)
def test_each_weakness_has_its_flag(changes, flag):
    assert flags(statistics(**changes)) == [flag]


def test_a_few_answers_raise_no_flag():
    assert flags(statistics(answers=ENOUGH_ANSWERS - 1, link=-0.5, difficulty=0.05)) == []


def test_the_common_odds_ratio_against_a_hand_worked_table():
    # One stratum: others 8 right 2 wrong, group 5 right 5 wrong: (8·5)/(2·5) = 4.
    right = [1] * 8 + [0] * 2 + [1] * 5 + [0] * 5
    group = [0] * 10 + [1] * 10

    result = mantel_haenszel(right, group, [1] * 20)

    assert result.odds_ratio == pytest.approx(4.0)
    assert result.delta == pytest.approx(-2.35 * np.log(4))


def test_equal_competence_shows_no_difference_even_where_one_group_knows_less():
    chance = np.random.default_rng(11)
    group = chance.random(4000) < 0.5
    level = np.where(group, chance.integers(0, 4, 4000), chance.integers(1, 5, 4000))
    right = chance.random(4000) < 0.2 + 0.15 * level

    assert mantel_haenszel(right, group, level).size == "negligible"


def test_an_item_harder_for_one_group_is_found():
    chance = np.random.default_rng(12)
    group = chance.random(4000) < 0.5
    level = chance.integers(0, 5, 4000)
    right = chance.random(4000) < 0.3 + 0.1 * level - 0.2 * group

    result = mantel_haenszel(right, group, level)

    assert result.size == "large"
    assert result.delta < 0


def test_groups_that_never_meet_cannot_be_compared():
    with pytest.raises(InputError, match="cannot be compared"):
        mantel_haenszel([1, 0, 1, 0], [1, 1, 0, 0], [1, 1, 2, 2])
