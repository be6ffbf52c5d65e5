"""The competence filter: stated check values, an exact integral, and properties."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from quizsvc.errors import InputError
from quizsvc.scoring.competence import (
    DEFAULTS,
    NODES,
    Belief,
    Competence,
    FilterSettings,
    ItemParameters,
    _posterior,
    after_answer,
    after_idle,
    expected_chance,
    newcomer,
)

WITHOUT_DRIFT = FilterSettings(learning=0.0, topic_drift=0.0, general_drift=0.0)
means = st.floats(-4, 4)
variances = st.floats(0.01, 1.5)
competences = st.builds(
    Competence, st.builds(Belief, means, variances), st.builds(Belief, means, variances)
)
items = st.builds(
    ItemParameters, st.floats(0.3, 2.5), st.floats(-3, 3), st.sampled_from([0.0, 0.2, 0.25, 0.5])
)


def exact(before: Competence, item: ItemParameters, *, correct: bool) -> tuple[float, float]:
    """Mean and variance of the total level after an answer, by numerical integration."""
    mean, spread = before.total.mean, math.sqrt(before.total.variance)

    def density(level: float) -> float:
        return math.exp(-(((level - mean) / spread) ** 2) / 2)

    def weight(level: float, power: int) -> float:
        right = item.c + (1 - item.c) / (1 + math.exp(-item.a * (level - item.b)))
        return level**power * (right if correct else 1 - right) * density(level)

    ends = (mean - 9 * spread, mean + 9 * spread)
    zero, one, two = (
        quad(weight, *ends, args=(power,), epsabs=1e-10, limit=200)[0] for power in (0, 1, 2)
    )
    return one / zero, two / zero - (one / zero) ** 2


def test_the_first_right_answer_of_a_newcomer_moves_the_level_to_the_stated_mean():
    """Stated: total mean .578287 before the drift, exact integral .578288 (computed here too)."""
    after = after_answer(newcomer(), ItemParameters(), correct=True, settings=WITHOUT_DRIFT)

    assert after.total.mean == pytest.approx(0.578287, abs=5e-7)
    assert exact(newcomer(), ItemParameters(), correct=True)[0] == pytest.approx(0.578288, abs=5e-7)


def test_the_move_is_split_in_proportion_to_the_variances():
    after = after_answer(newcomer(), ItemParameters(), correct=True, settings=WITHOUT_DRIFT)

    assert after.topic.mean == pytest.approx(2 * after.general.mean)  # 1.0 against 0.5


def test_the_learning_step_is_bounded_by_how_unexpected_the_answer_was():
    plain = after_answer(newcomer(), ItemParameters(), correct=True, settings=WITHOUT_DRIFT)
    learnt = after_answer(newcomer(), ItemParameters(), correct=True)

    assert learnt.topic.mean - plain.topic.mean == pytest.approx(0.1 * (1 - 0.5))
    assert learnt.topic.variance - plain.topic.variance == pytest.approx(0.01)
    assert learnt.general.variance - plain.general.variance == pytest.approx(0.001)
    assert learnt.general.mean == plain.general.mean


def test_nodes_and_weights_are_those_of_gauss_hermite_quadrature():
    nodes, weights = np.polynomial.hermite_e.hermegauss(15)

    assert [x for x, _ in NODES] == pytest.approx(list(nodes), abs=1e-12)
    assert [w for _, w in NODES] == pytest.approx(list(weights / math.sqrt(2 * math.pi)), rel=1e-10)


@given(competences, items, st.booleans())
@settings(max_examples=25, deadline=None)
def test_mean_and_variance_of_the_level_agree_with_the_exact_integral(before, item, correct):
    """15 nodes are good to a fiftieth of the spread even for steep items far off."""
    _, mean, variance = _posterior(before.total, item, correct=correct, settings=DEFAULTS)

    exact_mean, exact_variance = exact(before, item, correct=correct)

    assert mean == pytest.approx(exact_mean, abs=0.02 * math.sqrt(before.total.variance))
    assert variance == pytest.approx(exact_variance, abs=0.03 * before.total.variance)


@given(competences, items, st.booleans())
@settings(max_examples=50, deadline=None)
def test_the_parts_together_move_as_far_as_the_level(before, item, correct):
    _, mean, _ = _posterior(before.total, item, correct=correct, settings=DEFAULTS)

    after = after_answer(before, item, correct=correct, settings=WITHOUT_DRIFT)

    assert after.total.mean == pytest.approx(mean, abs=1e-9)


@given(competences, st.booleans())
@settings(max_examples=50, deadline=None)
def test_an_answer_that_cannot_be_guessed_always_makes_the_level_surer(before, correct):
    after = after_answer(before, ItemParameters(), correct=correct, settings=WITHOUT_DRIFT)

    assert after.general.variance < before.general.variance
    assert after.topic.variance < before.topic.variance


@given(competences, items)
@settings(max_examples=60, deadline=None)
def test_a_right_answer_raises_the_level_and_a_wrong_one_lowers_it_before_the_drift(before, item):
    right = after_answer(before, item, correct=True, settings=WITHOUT_DRIFT)
    wrong = after_answer(before, item, correct=False, settings=WITHOUT_DRIFT)

    assert right.general.mean >= before.general.mean
    assert right.topic.mean >= before.topic.mean
    assert wrong.general.mean <= before.general.mean
    assert wrong.topic.mean <= before.topic.mean


@given(competences, items)
@settings(max_examples=60, deadline=None)
def test_only_the_learning_step_can_put_a_wrong_answer_above_a_right_one(before, item):
    right = after_answer(before, item, correct=True)
    wrong = after_answer(before, item, correct=False)

    assert right.total.mean > wrong.total.mean - 0.1  # the learning step alone is at most 0.1
    assert right.general.mean >= wrong.general.mean


@given(
    st.lists(st.tuples(st.booleans(), items, st.floats(0, 200)), max_size=60),
)
@settings(max_examples=60, deadline=None)
def test_no_run_of_answers_leaves_the_bounds(run):
    belief = newcomer()
    for correct, item, days in run:
        belief = Competence(belief.general, after_idle(belief.topic, days))
        belief = after_answer(belief, item, correct=correct)

        for part in (belief.general, belief.topic):
            assert math.isfinite(part.mean)
            assert part.variance >= DEFAULTS.least_variance
        assert abs(belief.topic.mean) <= DEFAULTS.most_deviation


@given(means, variances, st.floats(0, 3000))
def test_idle_time_fades_a_deviation_and_never_makes_it_surer_than_a_newcomers(
    mean, variance, days
):
    faded = after_idle(Belief(mean, variance), days)

    assert abs(faded.mean) <= abs(mean)
    assert faded.variance <= 1.0
    if variance <= 1.0:
        assert faded.variance >= min(variance, 1.0) - 1e-12


def test_ninety_idle_days_leave_one_part_in_e():
    assert after_idle(Belief(1.0, 0.2), 90).mean == pytest.approx(math.exp(-1))


def test_idle_time_in_one_go_or_in_two_gives_the_same_mean():
    once = after_idle(Belief(0.8, 0.1), 30)
    twice = after_idle(after_idle(Belief(0.8, 0.1), 12), 18)

    assert once.mean == pytest.approx(twice.mean)


def test_a_lucky_guess_says_less_than_a_typed_number():
    chosen = after_answer(newcomer(), ItemParameters(c=0.25), correct=True)
    typed = after_answer(newcomer(), ItemParameters(c=0.0), correct=True)

    assert chosen.total.mean < typed.total.mean


def test_answers_in_one_topic_say_a_little_about_the_others():
    belief = newcomer()
    for _ in range(10):
        belief = after_answer(belief, ItemParameters(), correct=True)

    other_topic = Competence(belief.general, newcomer().topic)

    assert 0 < other_topic.total.mean < belief.total.mean


def test_the_update_takes_the_same_work_however_long_the_history_is():
    """Nothing but two beliefs goes in, so there is no history to grow with."""
    assert set(Competence.__slots__) == {"general", "topic"}


def test_an_expected_chance_lies_between_guessing_and_certainty():
    item = ItemParameters(c=0.25)

    assert expected_chance(Belief(-9, 0.01), item) == pytest.approx(0.25, abs=1e-3)
    assert expected_chance(Belief(9, 0.01), item) == pytest.approx(1.0, abs=1e-3)
    assert expected_chance(Belief(0, 1.0), ItemParameters()) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("item", "field"),
    [
        (ItemParameters(a=0.0), "a"),
        (ItemParameters(a=math.nan), "a"),
        (ItemParameters(b=math.inf), "b"),
        (ItemParameters(c=1.0), "c"),
        (ItemParameters(c=-0.1), "c"),
        (ItemParameters(c=math.nan), "c"),
    ],
)
def test_impossible_item_parameters_are_refused_by_name(item, field):
    with pytest.raises(InputError) as refused:
        after_answer(newcomer(), item, correct=True)

    assert refused.value.field == field


@pytest.mark.parametrize("days", [-1.0, math.nan, math.inf])
def test_impossible_idle_time_is_refused(days):
    with pytest.raises(InputError, match="days"):
        after_idle(Belief(0.0, 1.0), days)


def test_a_level_far_outside_does_not_break_the_arithmetic():
    far = Competence(Belief(-800.0, 0.5), Belief(0.0, 1.0))

    after = after_answer(far, ItemParameters(), correct=True)

    assert math.isfinite(after.total.mean)
    assert after.topic.variance >= DEFAULTS.least_variance
