"""Scores against a cut, and how hard items are at it."""

from __future__ import annotations

import pytest

from quizsvc.errors import InputError
from quizsvc.scoring.competence import ItemParameters
from quizsvc.scoring.decision_report import (
    binomial_standard_error,
    group_consistency,
    score_report,
)
from quizsvc.scoring.form_difficulty import ability_at_cut, chance_right, information


def test_information_is_the_published_value_at_and_beside_the_difficulty():
    """a 1.5, b 1: .5625 at 1 and .3356 at 0 and 2 (2PL, a²PQ)."""
    item = ItemParameters(a=1.5, b=1.0, c=0.0)

    assert information(item, 1.0) == pytest.approx(0.5625)
    assert information(item, 0.0) == pytest.approx(0.3356, abs=5e-5)
    assert information(item, 2.0) == pytest.approx(0.3356, abs=5e-5)


def test_information_with_guessing_is_the_slope_squared_over_the_variance():
    """Second method: numeric derivative of the chance."""
    item, at, step = ItemParameters(a=1.2, b=-0.3, c=0.25), 0.4, 1e-6
    slope = (chance_right(item, at + step) - chance_right(item, at - step)) / (2 * step)
    right = chance_right(item, at)

    assert information(item, at) == pytest.approx(slope**2 / (right * (1 - right)), rel=1e-6)


def test_the_ability_at_a_cut_gives_that_share_back():
    items = [ItemParameters(b=b, c=c) for b, c in ((-1.0, 0.25), (0.0, 0.0), (1.5, 0.25))]

    ability = ability_at_cut(items, 0.62)

    assert sum(chance_right(one, ability) for one in items) / 3 == pytest.approx(0.62)


@pytest.mark.parametrize("share", [0.0, 0.2, 1.0])
def test_a_cut_that_guessing_reaches_or_nobody_is_refused(share):
    with pytest.raises(InputError, match="cut"):
        ability_at_cut([ItemParameters(c=0.25)], share)


def test_the_binomial_standard_error_is_largest_in_the_middle():
    errors = [binomial_standard_error(points, 40) for points in range(41)]

    assert errors[0] == errors[40] == 0
    assert max(errors) == errors[20] == pytest.approx((20 * 20 / 39) ** 0.5)


def test_a_score_on_the_cut_passes_and_is_borderline():
    report = score_report(28, 40, 0.7)

    assert (report.needed, report.passed, report.borderline) == (28, True, True)
    assert 0.5 <= report.same_again < 0.6


def test_a_cut_between_two_scores_needs_the_higher():
    report = score_report(27, 40, 0.68)

    assert (report.needed, report.passed) == (28, False)


def test_a_score_far_from_the_cut_would_be_decided_alike():
    report = score_report(39, 40, 0.7)

    assert not report.borderline
    assert report.same_again > 0.98


def test_no_counting_question_is_refused():
    with pytest.raises(InputError, match="no question counts"):
        score_report(0, 0, 0.7)


def test_a_group_needs_enough_scores_that_differ():
    assert group_consistency([30] * 9, 40, 0.7) is None
    assert group_consistency([30] * 20, 40, 0.7) is None


def test_a_spread_group_is_decided_consistently():
    found = group_consistency(list(range(10, 40)) * 2, 40, 0.7)

    assert found.scores == 60
    assert 0.8 < found.agreement <= 1
    assert found.accuracy > found.agreement - 0.1
