"""Classical test theory: reliability, discrimination and distractors of a marked test.

``scores`` is an array persons × items of 0 and 1 without gaps; ``totals`` holds one number a
person. Variances are population variances throughout: the sum of p·q belongs to them, and
mixing it with n − 1 gives another (wrong) KR-20.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from quizsvc.errors import InputError

Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Interval:
    low: float
    high: float


def checked_scores(scores: npt.ArrayLike) -> Numbers:
    """Return ``scores`` as floats, refused unless it is persons × items of 0 and 1.

    Raises:
        InputError: another shape, fewer than two persons or items, or another value.
    """
    matrix = np.asarray(scores, dtype=float)
    if matrix.ndim != 2 or min(matrix.shape) < 2:
        raise InputError(
            "reliability needs at least two persons and two items.",
            field="scores",
            value=matrix.shape,
            remedy="Gather more responses first.",
        )
    if not np.isin(matrix, (0.0, 1.0)).all():
        raise InputError("a marked item is 0 or 1.", field="scores", value="another value")
    return matrix


def difficulty(scores: npt.ArrayLike) -> Numbers:
    """Return the share of right answers of each item (the field's p value), 0 to 1."""
    share: Numbers = checked_scores(scores).mean(axis=0)
    return share


def cronbach_alpha(scores: npt.ArrayLike) -> float:
    """Return coefficient alpha; for 0/1 items it is KR-20.

    Source: Cronbach 1951; Kuder & Richardson 1937, formula 20.

    >>> round(cronbach_alpha([[1, 1], [0, 0], [1, 0], [1, 1]]), 4)
    0.7273
    """
    matrix = np.asarray(scores, dtype=float)
    items = matrix.shape[1]
    total_variance = matrix.sum(axis=1).var()
    if total_variance == 0:
        raise InputError(
            "all persons have the same total, so reliability is not defined.",
            field="scores",
            value="variance 0",
        )
    return float(items / (items - 1) * (1 - matrix.var(axis=0).sum() / total_variance))


def kr20(scores: npt.ArrayLike) -> float:
    """Return the Kuder-Richardson formula 20 of 0/1 scores."""
    return cronbach_alpha(checked_scores(scores))


def kr21(items: int, mean: float, variance: float) -> float:
    """Return the Kuder-Richardson formula 21 from the mean and variance of totals."""
    return items / (items - 1) * (1 - mean * (items - mean) / (items * variance))


def alpha_interval(alpha: float, persons: int, items: int, confidence: float = 0.95) -> Interval:
    """Return Feldt's interval of coefficient alpha.

    Source: Feldt 1965; Feldt, Woodruff & Salih 1987.
    """
    tail = (1 - confidence) / 2
    df1, df2 = persons - 1, (persons - 1) * (items - 1)
    low = 1 - (1 - alpha) * scipy.stats.f.ppf(1 - tail, df1, df2)
    high = 1 - (1 - alpha) * scipy.stats.f.ppf(tail, df1, df2)
    return Interval(float(low), float(high))


def standard_error_of_measurement(standard_deviation: float, reliability: float) -> float:
    """Return s·√(1 − r).

    >>> round(standard_error_of_measurement(15, 0.85), 4)
    5.8095
    """
    return standard_deviation * math.sqrt(max(0.0, 1 - reliability))


def point_biserial(item: npt.ArrayLike, totals: npt.ArrayLike) -> float:
    """Return the correlation of a 0/1 item with ``totals``; 0 where either does not vary."""
    marks, sums = np.asarray(item, dtype=float), np.asarray(totals, dtype=float)
    if marks.std() == 0 or sums.std() == 0:
        return 0.0
    return float(np.corrcoef(marks, sums)[0, 1])


def corrected_point_biserials(scores: npt.ArrayLike) -> Numbers:
    """Return each item's correlation with the total of the *other* items."""
    matrix = checked_scores(scores)
    totals = matrix.sum(axis=1)
    return np.array([point_biserial(column, totals - column) for column in matrix.T])


def upper_lower_index(
    right_upper: int, right_lower: int, group_upper: int, group_lower: int
) -> float:
    """Return the share right in the upper group less that in the lower group.

    >>> round(upper_lower_index(9, 3, 11, 11), 4)
    0.5455
    """
    return right_upper / group_upper - right_lower / group_lower


def upper_lower_indices(scores: npt.ArrayLike, share: float = 0.27) -> Numbers:
    """Return the upper-lower index of each item for the outer ``share`` of persons.

    Source: Kelley 1939 (27 % as the best share).
    """
    matrix = checked_scores(scores)
    count = max(1, round(share * matrix.shape[0]))
    order = np.argsort(matrix.sum(axis=1), kind="stable")
    gap: Numbers = matrix[order[-count:]].mean(axis=0) - matrix[order[:count]].mean(axis=0)
    return gap


def spearman_brown(reliability: float, factor: float) -> float:
    """Return the reliability of a test made ``factor`` times as long.

    >>> round(spearman_brown(0.70, 3), 3)
    0.875
    """
    return factor * reliability / (1 + (factor - 1) * reliability)


def length_for_reliability(reliability: float, wanted: float) -> float:
    """Return the factor of length that brings ``reliability`` to ``wanted``.

    >>> round(length_for_reliability(0.5, 0.8) * 20)
    80
    """
    return wanted * (1 - reliability) / (reliability * (1 - wanted))


def wilson_interval(right: int, answers: int, confidence: float = 0.95) -> Interval:
    """Return the score interval of a share.

    Source: Wilson 1927; Newcombe 1998, method 3.
    """
    if not 0 <= right <= answers or answers == 0:
        raise InputError("no share can be formed.", field="right", value=f"{right}/{answers}")
    z = float(scipy.stats.norm.ppf((1 + confidence) / 2))
    share = right / answers
    middle = share + z * z / (2 * answers)
    spread = z * math.sqrt(share * (1 - share) / answers + z * z / (4 * answers * answers))
    scale = 1 + z * z / answers
    return Interval(max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale))


@dataclass(frozen=True, slots=True)
class DistractorCurve:
    """How often one option was taken, from the weakest to the strongest group of persons."""

    option: str
    correct: bool
    shares: tuple[float, ...]
    total_share: float
    point_biserial: float  # of choosing this option with the total


def distractor_curves(
    chosen: tuple[str, ...], right: frozenset[str], totals: npt.ArrayLike, groups: int = 4
) -> tuple[DistractorCurve, ...]:
    """Return a curve for each option of one item, in the order of the options' names."""
    sums = np.asarray(totals, dtype=float)
    if len(chosen) != len(sums) or not chosen:
        raise InputError("one choice for each total is needed.", field="chosen", value=len(chosen))
    order = np.argsort(sums, kind="stable")
    parts = np.array_split(order, min(groups, len(chosen)))
    names = np.array(chosen)
    return tuple(
        DistractorCurve(
            option,
            option in right,
            tuple(float((names[part] == option).mean()) for part in parts),
            float((names == option).mean()),
            point_biserial(names == option, sums),
        )
        for option in sorted(set(chosen) | right)
    )
