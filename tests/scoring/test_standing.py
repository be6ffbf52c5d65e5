"""A standing: chance, interval, words, the practice gate, and what helps most."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ready_gate import operate
from scipy.optimize import brentq
from scipy.stats import norm

from quizsvc.items.model import Level
from quizsvc.scoring.competence import Belief, ItemParameters, newcomer
from quizsvc.scoring.standing import (
    CUT,
    Standing,
    in_words,
    level_at,
    need,
    of_level,
    stands,
    typical_chance,
    uncalibrated,
    why_not_ready,
)

MARCH = datetime(2026, 3, 2, 12, tzinfo=UTC)


def standing(chance=0.6, *, answers=20, days=0.0, width=0.3, certainty=0.5) -> Standing:
    return Standing(chance, chance - width / 2, chance + width / 2, answers, days, certainty)


def test_the_cut_is_mapped_through_the_curve_of_typical_items():
    """Against a root finder, for typical items of several kinds."""
    typical = (ItemParameters(b=-1), ItemParameters(a=1.6, b=0.5), ItemParameters(c=0.25))

    expected = brentq(lambda level: typical_chance(level, typical) - CUT, -10, 10)

    assert level_at(CUT, typical) == pytest.approx(expected, abs=1e-9)
    assert level_at(0.7) == pytest.approx(math.log(0.7 / 0.3))


def test_certainty_is_the_normal_tail_above_the_cut():
    found = of_level(Belief(1.2, 0.4), answers=12, days_idle=1)

    assert found.certainty == pytest.approx(norm.sf(math.log(0.7 / 0.3), 1.2, math.sqrt(0.4)))


def test_the_interval_holds_nine_tenths_of_the_belief():
    found = of_level(Belief(0.0, 1.0), answers=12, days_idle=1)

    assert found.low == pytest.approx(1 / (1 + math.exp(1.645)), abs=1e-3)
    assert found.high == pytest.approx(1 - found.low)


@given(st.floats(-5, 5), st.floats(0.01, 2))
def test_the_chance_lies_within_its_interval_and_all_within_0_and_1(mean, variance):
    found = of_level(Belief(mean, variance), answers=5, days_idle=0)

    assert 0 <= found.low <= found.chance <= found.high <= 1


@pytest.mark.parametrize(
    ("certainty", "answers", "days", "ready"),
    [
        (0.90, 10, 90, True),
        (0.89, 10, 90, False),
        (0.90, 9, 90, False),
        (0.90, 10, 90.1, False),
    ],
)
def test_ready_needs_certainty_answers_and_recent_evidence(certainty, answers, days, ready):
    found = standing(0.9, answers=answers, days=days, certainty=certainty)

    assert found.ready is ready
    assert bool(why_not_ready(found)) is not ready


def test_being_ready_is_not_kept_when_time_passes():
    general, topic = Belief(0.8, 0.1), Belief(1.2, 0.1)

    then = stands(general, topic, answers=30, days_idle=1)
    later = stands(general, topic, answers=30, days_idle=80)

    assert then.ready
    assert not later.ready


@pytest.mark.parametrize("true_chance", [0.5, 0.7, 0.9])
def test_the_gate_operates_as_its_table_says(true_chance):
    """Shares of 250 simulated people against the documented ones, within four standard errors."""
    table = {0.5: (0.01, 0.06), 0.7: (0.18, 0.47), 0.9: (0.91, 0.99)}
    after_40, ever = table[true_chance]

    found = operate(true_chance, 250, seed=7)

    for share, documented in ((found.after[40], after_40), (found.ever, ever)):
        error = math.sqrt(max(documented * (1 - documented), 0.01) / 250)
        assert share == pytest.approx(documented, abs=4 * error + 0.005)


def test_words_say_chance_interval_and_date():
    words = in_words(standing(0.72, width=0.36), MARCH)

    assert words == (
        "Gets about 7 in 10 typical questions right, likely between 5 and 9 (approximate); "
        "last practised on 2 March 2026."
    )


def test_words_admit_that_there_is_nothing_or_too_little_to_tell():
    assert in_words(standing(answers=0), None) == "Nothing answered here yet."
    assert in_words(standing(answers=2), MARCH).startswith("Too few answers to tell (2 so far)")


def test_a_topic_below_the_cut_needs_more_practice_than_one_above():
    assert need(standing(0.3), "Marks").size > need(standing(0.9), "Marks").size
    assert "3 in 10" in need(standing(0.3), "Marks").why


def test_a_topic_known_well_but_long_ago_fades_and_says_so():
    faded = need(standing(0.9, days=80, width=0.1), "Marks")

    assert faded.size > need(standing(0.9, width=0.1), "Marks").size
    assert "80 days ago" in faded.why


def test_a_topic_never_tried_comes_before_one_that_goes_well():
    untried = stands(newcomer().general, newcomer().topic, answers=0, days_idle=0)

    assert need(untried, "Marks").size > need(standing(0.85, width=0.15), "Marks").size
    assert "not tried" in need(untried, "Marks").why


def test_a_topic_that_filled_the_latest_items_rests():
    assert need(standing(0.3), "Marks", lately=1.0).size < need(standing(0.6), "Valves").size


def test_diagnosing_is_taken_to_be_harder_than_recalling_until_calibrated():
    recall, diagnose = uncalibrated(Level.RECALL, 0.25), uncalibrated(Level.DIAGNOSE, 0.0)

    assert recall.b < 0 < diagnose.b
    assert (recall.c, diagnose.c) == (0.25, 0.0)
