"""Item response calibration against published estimates of an open dataset and simulated truth."""

from itertools import combinations

import numpy as np
import pytest

from quizsvc.errors import InputError
from quizsvc.scoring import abilities
from quizsvc.scoring.calibration import calibrate_2pl, calibrate_equal_slopes
from quizsvc.scoring.classical import kr20

# LSAT section 6, 1000 persons × 5 items, as counts of response patterns: data of
# Bock & Aitkin 1981, Psychometrika 46 (also the object lsat6 of the R package psych).
LSAT6 = """
00000 3  00001 6  00010 2  00011 11  00100 1  00101 1  00110 3  00111 4  01000 1  01001 8
01011 16 01101 3  01110 2  01111 15  10000 10 10001 29 10010 14 10011 81 10100 3  10101 28
10110 15 10111 80 11000 16 11001 56  11010 21 11011 173 11100 11 11101 61 11110 28 11111 298
"""


@pytest.fixture(scope="module")
def lsat6():
    words = LSAT6.split()
    rows = [
        [int(mark) for mark in pattern]
        for pattern, count in zip(words[::2], words[1::2], strict=True)
        for _ in range(int(count))
    ]
    return np.array(rows, dtype=float)


@pytest.fixture(scope="module")
def simulated():
    chance = np.random.default_rng(7)
    theta, a, b = chance.normal(size=3000), chance.lognormal(0, 0.25, 40), chance.normal(size=40)
    right = abilities.chance_right(theta, a, b) > chance.random((3000, 40))
    return right.astype(float), theta, a, b


def test_alpha_of_lsat6(lsat6):
    assert lsat6.shape == (1000, 5)
    assert kr20(lsat6) == pytest.approx(0.2950, abs=5e-5)


def test_2pl_of_lsat6_as_published(lsat6):
    # Printed by the R package ltm; agrees with Bock & Aitkin 1981.
    fit = calibrate_2pl(lsat6, tolerance=1e-6)

    assert fit.settled
    assert fit.a == pytest.approx([0.8257, 0.7227, 0.8909, 0.6884, 0.6569], abs=2e-3)
    assert fit.b == pytest.approx([-3.359, -1.370, -0.280, -1.866, -3.126], abs=2e-3)
    assert fit.log_likelihood == pytest.approx(-2466.653, abs=1e-3)


def test_equal_slopes_of_lsat6_as_published(lsat6):
    # Printed by ltm's rasch().
    fit = calibrate_equal_slopes(lsat6, tolerance=1e-6)

    assert fit.a == pytest.approx(np.full(5, 0.7551), abs=5e-4)
    assert fit.log_likelihood == pytest.approx(-2466.938, abs=1e-3)


def test_conditional_rasch_of_lsat6_as_published(lsat6):
    # eRm, psychotools and girth agree on these.
    assert abilities.conditional_rasch(lsat6) == pytest.approx(
        [-1.2561, 0.4749, 1.2360, 0.1684, -0.6232], abs=5e-5
    )


def test_calibration_finds_the_truth_it_was_simulated_from(simulated):
    right, _, a, b = simulated

    fit = calibrate_2pl(right)

    assert np.sqrt(np.mean((fit.a - a) ** 2)) < 0.1
    assert np.sqrt(np.mean((fit.b - b) ** 2)) < 0.12


def test_missing_responses_cost_precision_but_no_bias(simulated):
    right, _, _, b = simulated
    gaps = np.random.default_rng(8).random(right.shape) < 0.3

    fit = calibrate_2pl(np.where(gaps, np.nan, right))

    assert np.sqrt(np.mean((fit.b - b) ** 2)) < 0.15
    assert abs(np.mean(fit.b - b)) < 0.06


def test_an_interrupted_calibration_goes_on_where_it_stopped(simulated):
    right = simulated[0]
    seen = []
    whole = calibrate_2pl(right, tolerance=1e-6)

    part = calibrate_2pl(right, tolerance=1e-6, max_rounds=2, report=seen.append)
    resumed = calibrate_2pl(right, tolerance=1e-6, start=part)

    assert not part.settled
    assert [state.rounds for state in seen] == [1, 2]
    assert resumed.rounds > part.rounds
    assert resumed.b == pytest.approx(whole.b, abs=1e-4)
    assert resumed.log_likelihood == pytest.approx(whole.log_likelihood, abs=1e-4)


def test_the_likelihood_never_falls_on_the_way(simulated):
    seen = []

    calibrate_2pl(simulated[0], tolerance=1e-6, report=lambda s: seen.append(s.log_likelihood))

    assert (np.diff(seen) > -1e-6).all()


def test_information_of_a_2pl_item():
    # a²/4 at θ = b; the values at 0 and 2 as catsim prints them.
    told = abilities.information([1, 0, 2], [1.5], [1.0])[:, 0]

    assert told == pytest.approx([0.5625, 0.3356, 0.3356], abs=5e-5)


def test_expected_abilities_follow_the_truth_and_know_their_error(simulated):
    right, theta, a, b = simulated

    found = abilities.expected_abilities(right, a, b)

    assert np.corrcoef(found.theta, theta)[0, 1] > 0.9
    within = np.abs(found.theta - theta) < 1.96 * found.standard_error
    assert within.mean() == pytest.approx(0.95, abs=0.02)


def test_a_noisy_item_shows_in_its_fit(simulated):
    right, theta, a, b = simulated
    spoiled = right.copy()
    spoiled[:, 0] = np.random.default_rng(9).random(len(right)) < 0.5

    fit = abilities.item_fit(spoiled, theta, a, b)

    assert fit.infit[0] > 1.3
    assert np.abs(fit.infit[1:] - 1).max() < 0.15


def test_symmetric_functions_against_brute_force():
    easiness = np.array([0.5, 1.5, 2.0, 0.7])

    expected = [sum(np.prod(c) for c in combinations(easiness, k)) for k in range(5)]

    assert abilities.symmetric_functions(easiness) == pytest.approx(expected)


def test_items_that_everybody_got_right_have_no_estimate():
    with pytest.raises(InputError, match="answered alike"):
        calibrate_2pl([[1, 0], [1, 1], [1, 0]])


def test_responses_other_than_marks_are_refused():
    with pytest.raises(InputError, match="responses"):
        calibrate_2pl([[2, 0], [1, 1]])
