"""Cut scores and decision consistency: published values, and simulation as a second method."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizsvc.errors import InputError
from quizsvc.scoring import standard_setting as setting


def test_a_panels_cut_is_the_mean_of_its_judges_sums():
    result = setting.angoff_panel([[0.6, 0.8, 0.4], [0.5, 0.9, 0.5], [0.7, 0.7, 0.6]])

    assert result.judge_cuts == pytest.approx((1.8, 1.9, 2.0))
    assert result.cut == pytest.approx(1.9)
    assert result.standard_error == pytest.approx(0.1 / np.sqrt(3))
    assert result.adjusted_cut == pytest.approx(1.9 - 0.1 / np.sqrt(3))


def test_judges_who_rank_items_alike_agree():
    alike = setting.angoff_panel([[0.2, 0.5, 0.9], [0.3, 0.6, 1.0]])
    apart = setting.angoff_panel([[0.2, 0.5, 0.9], [0.9, 0.6, 0.3]])

    assert alike.agreement == pytest.approx(1.0)
    assert apart.agreement < alike.agreement


@pytest.mark.parametrize(
    ("estimates", "says"),
    [
        ([[0.5, 0.5]], "two judges"),
        ([[0.5, 1.2], [0.5, 0.5]], "0 to 1"),
        ([[0.5, float("nan")], [0.5, 0.5]], "0 to 1"),
    ],
)
def test_a_panel_that_cannot_stand_is_refused(estimates, says):
    with pytest.raises(InputError, match=says):
        setting.angoff_panel(estimates)


def test_livingston_lewis_as_published():
    # R package betafunctions 1.9.0 (CC0), run with l .25, u .75, α 5, β 3, n 50, cut .5.
    result = setting.livingston_lewis(0.25, 0.75, 5, 3, length=50, cut=0.5)

    assert result.agreement == pytest.approx(0.77499, abs=1e-5)
    assert result.kappa == pytest.approx(0.39789, abs=1e-5)


def test_livingston_lewis_against_simulated_pairs_of_forms():
    chance = np.random.default_rng(3)
    true = 0.3 + 0.6 * chance.beta(4, 3, 400_000)
    first, second = chance.binomial(40, true) >= 26, chance.binomial(40, true) >= 26

    result = setting.livingston_lewis(0.3, 0.9, 4, 3, length=40, cut=0.65)

    assert result.agreement == pytest.approx((first == second).mean(), abs=3e-3)
    assert result.accuracy == pytest.approx((first == (true >= 0.65)).mean(), abs=3e-3)
    assert result.false_pass == pytest.approx((first & (true < 0.65)).mean(), abs=3e-3)


def test_subkoviak_errs_on_the_careful_side_of_simulated_pairs_of_forms():
    chance = np.random.default_rng(4)
    true = chance.beta(8, 4, 200_000)
    totals = chance.binomial(20, true)
    again = chance.binomial(20, true)
    reliability = np.corrcoef(totals, again)[0, 1]

    result = setting.subkoviak(totals, 20, 14, reliability)

    # Regressed scores vary less than true ones, so more persons seem to stand near the cut and
    # the estimate runs low: the error is on the careful side, and small.
    simulated = ((totals >= 14) == (again >= 14)).mean()
    assert simulated - 0.06 < result.agreement < simulated


def test_the_beta_of_true_scores_keeps_mean_and_variance():
    totals = np.random.default_rng(5).binomial(30, np.random.default_rng(6).beta(6, 3, 50_000))

    alpha, beta = setting.beta_from_scores(totals, 30, 0.75)

    assert alpha / (alpha + beta) == pytest.approx(totals.mean() / 30)


def test_scores_without_spread_tell_no_consistency():
    with pytest.raises(InputError, match="vary"):
        setting.beta_from_scores([20, 20, 20], 30, 0.8)


@given(st.floats(0.1, 0.9), st.integers(10, 80))
def test_consistency_lies_between_chance_and_certainty(cut, length):
    result = setting.livingston_lewis(0.05, 0.95, 3, 2, length=length, cut=cut)

    assert 0.5 - 1e-9 <= result.chance <= result.agreement + 1e-9
    assert result.agreement <= 1 + 1e-9
    assert 0 <= result.false_pass <= 1
