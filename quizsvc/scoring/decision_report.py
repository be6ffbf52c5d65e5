"""What a score on one form says: its standard error, the cut, and how sure the decision is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from quizsvc.errors import InputError
from quizsvc.scoring.classical import kr21
from quizsvc.scoring.standard_setting import beta_from_scores, livingston_lewis, subkoviak

ENOUGH_SCORES = 10  # before consistency is estimated from a group


@dataclass(frozen=True, slots=True)
class ScoreReport:
    """A score of ``points`` out of ``out_of`` against a cut; all in points."""

    points: int
    out_of: int
    cut: float
    needed: int  # the least whole number of points that reaches the cut
    standard_error: float
    passed: bool
    borderline: bool  # within one standard error of the cut
    same_again: float  # chance that another such form would decide alike


@dataclass(frozen=True, slots=True)
class GroupConsistency:
    """How consistently a cut decides, estimated from the scores of a group."""

    scores: int
    reliability: float  # KR-21, a lower bound of KR-20
    agreement: float  # Subkoviak: two forms decide alike
    kappa: float
    accuracy: float | None  # Livingston-Lewis: the decision is that of the true score


def binomial_standard_error(points: int, out_of: int) -> float:
    """Return √(x (n − x) / (n − 1)), the standard error of one number-right score.

    It needs no group and no reliability, so it holds where every candidate sits a form of
    their own. Source: Lord 1957, "Do tests of the same length have the same standard errors of
    measurement?", Educational and Psychological Measurement 17.

    >>> round(binomial_standard_error(30, 40), 3)
    2.774
    """
    if out_of < 2:
        return 0.0
    return math.sqrt(points * (out_of - points) / (out_of - 1))


def score_report(points: int, out_of: int, cut_share: float) -> ScoreReport:
    """Return what a score says against a cut that is a share of the questions.

    Raises:
        InputError: no question counts, or more points than questions.
    """
    if not 0 <= points <= out_of or out_of == 0:
        raise InputError(
            "no question counts, or more points than questions.",
            field="points",
            value=f"{points} of {out_of}",
            remedy="Look at which questions were declared void.",
        )
    cut = cut_share * out_of
    needed = math.ceil(cut - 1e-9)
    error = binomial_standard_error(points, out_of)
    # One answer of each kind added, so that full marks are not taken for certainty (Laplace).
    passing = float(scipy.stats.binom.sf(needed - 1, out_of, (points + 1) / (out_of + 2)))
    return ScoreReport(
        points,
        out_of,
        cut,
        needed,
        error,
        passed=points >= needed,
        borderline=abs(points - cut) < error,
        same_again=passing**2 + (1 - passing) ** 2,
    )


def group_consistency(
    totals: Sequence[int], items: int, cut_share: float
) -> GroupConsistency | None:
    """Return decision consistency from a group's scores; None where they don't bear it.

    Forms differ from candidate to candidate, so that only formulas on totals apply.
    """
    if len(totals) < ENOUGH_SCORES or items < 2:
        return None
    scores = np.asarray(totals, dtype=float)
    variance = float(scores.var())
    if variance == 0:
        return None
    reliability = kr21(items, float(scores.mean()), variance)
    if not 0 < reliability < 1:
        return None
    needed = math.ceil(cut_share * items - 1e-9)
    found = subkoviak(scores, items, needed, reliability)
    try:
        alpha, beta = beta_from_scores(scores, items, reliability)
        fuller = livingston_lewis(0.0, 1.0, alpha, beta, length=items, cut=needed / items)
        accuracy = fuller.accuracy
    except InputError:
        accuracy = None
    return GroupConsistency(len(totals), reliability, found.agreement, found.kappa, accuracy)
