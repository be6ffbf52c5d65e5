"""Classical test theory against published worked examples; the source stands beside each."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from quizsvc.errors import InputError
from quizsvc.scoring import classical

# A university's KR-20 worksheet, 10 persons × 10 items; pingouin's alpha agrees (0.69635).
ROWS = """
1111110110 1011011101 1111011001 0010001000 0000010010
1110111111 1101110111 1111111101 0101111101 1101101110
"""
WORKSHEET = [[int(mark) for mark in row] for row in ROWS.split()]
# Brown 2001, JALT Testing & Evaluation SIG, point-biserial worked example.
BROWN_TOTALS = [50, 45, 45, 40, 35, 30, 30, 25]
BROWN_ITEM = [1, 1, 1, 1, 0, 0, 0, 0]

MARKED = hnp.arrays(
    float, st.tuples(st.integers(3, 12), st.integers(2, 8)), elements=st.sampled_from([0.0, 1.0])
)


def test_kr20_of_the_published_worksheet():
    scores = np.array(WORKSHEET)

    share = classical.difficulty(scores)

    assert (share * (1 - share)).sum() == pytest.approx(2.18)
    assert scores.sum(axis=1).var() == pytest.approx(5.84)
    assert classical.kr20(scores) == pytest.approx(0.69635, abs=5e-6)


def test_the_sample_variance_would_give_the_wrong_kr20():
    # A published tutorial mixes the pq sum with n − 1 and prints .738.
    scores = np.array(WORKSHEET)
    mixed = 10 / 9 * (1 - 2.18 / scores.sum(axis=1).var(ddof=1))

    assert mixed == pytest.approx(0.738, abs=5e-4)
    assert classical.kr20(scores) != pytest.approx(mixed, abs=0.01)


def test_point_biserial_of_browns_example():
    assert np.std(BROWN_TOTALS) == pytest.approx(8.29, abs=0.005)
    assert classical.point_biserial(BROWN_ITEM, BROWN_TOTALS) == pytest.approx(0.9045, abs=5e-5)


def test_the_corrected_point_biserial_leaves_the_item_itself_out():
    scores = np.array(WORKSHEET)

    corrected = classical.corrected_point_biserials(scores)

    rest = scores.sum(axis=1) - scores[:, 3]
    assert corrected[3] == pytest.approx(np.corrcoef(scores[:, 3], rest)[0, 1])
    assert (corrected < [classical.point_biserial(c, scores.sum(axis=1)) for c in scores.T]).all()


def test_lengthening_by_spearman_brown():
    # Values as the R package psychometric prints them.
    assert classical.spearman_brown(0.70, 60 / 20) == pytest.approx(0.875)
    assert 20 * classical.length_for_reliability(0.50, 0.80) == pytest.approx(80)


@pytest.mark.parametrize(
    ("right", "answers", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_intervals_of_newcombe_1998(right, answers, low, high):
    # Newcombe 1998, Statistics in Medicine 17, table of method 3.
    interval = classical.wilson_interval(right, answers)

    assert (interval.low, interval.high) == pytest.approx((low, high), abs=5e-5)


def test_feldts_interval_holds_the_estimate_and_narrows_with_persons():
    few = classical.alpha_interval(0.8, 30, 20)
    many = classical.alpha_interval(0.8, 300, 20)

    assert few.low < many.low < 0.8 < many.high < few.high


def test_distractor_curves_follow_persons_from_weak_to_strong():
    chosen = ("B", "B", "C", "A", "A", "A")

    curves = classical.distractor_curves(chosen, frozenset("A"), [1, 2, 3, 4, 5, 6], groups=2)

    by_option = {curve.option: curve for curve in curves}
    assert by_option["A"].shares == (0.0, 1.0)
    assert by_option["B"].shares == pytest.approx((2 / 3, 0.0))
    assert by_option["A"].point_biserial > 0 > by_option["B"].point_biserial


def test_an_option_that_nobody_takes_still_has_a_curve_when_it_is_right():
    curves = classical.distractor_curves(("B", "B"), frozenset("A"), [1, 2], groups=2)

    assert curves[0].option == "A"
    assert curves[0].total_share == 0.0


@given(MARKED)
def test_alpha_never_exceeds_one_and_person_order_does_not_matter(scores):
    if scores.sum(axis=1).var() == 0:
        with pytest.raises(InputError, match="same total"):
            classical.cronbach_alpha(scores)
        return

    alpha = classical.cronbach_alpha(scores)

    assert alpha <= 1 + 1e-9
    assert classical.cronbach_alpha(scores[::-1]) == pytest.approx(alpha)


@given(MARKED)
def test_an_upper_lower_index_stays_between_minus_one_and_one(scores):
    indices = classical.upper_lower_indices(scores)

    assert ((indices >= -1) & (indices <= 1)).all()


@pytest.mark.parametrize("scores", [[[1, 2], [0, 1]], [[1, 0]], [1, 0], [[np.nan, 1], [0, 1]]])
def test_scores_that_are_no_marks_are_refused(scores):
    with pytest.raises(InputError, match="scores"):
        classical.checked_scores(scores)
