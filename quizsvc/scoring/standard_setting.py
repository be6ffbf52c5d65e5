"""Cut scores from a panel of judges, and how consistently a cut decides."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from quizsvc.errors import InputError
from quizsvc.scoring.classical import cronbach_alpha

Numbers = npt.NDArray[np.float64]
_NODES = 200  # Gauss-Legendre nodes for the true-score integral; exact to 1e-12 at 100 items


@dataclass(frozen=True, slots=True)
class PanelResult:
    """What a panel's estimates come to; scores are counts of items.

    ``agreement`` is coefficient alpha with the judges as parts (judges who rank the items alike
    come near 1); None where it is not defined.
    """

    judges: int
    items: int
    judge_cuts: tuple[float, ...]
    cut: float
    spread: float
    standard_error: float
    adjusted_cut: float  # one standard error below the mean
    agreement: float | None
    item_means: tuple[float, ...]
    item_spreads: tuple[float, ...]


def angoff_panel(estimates: npt.ArrayLike) -> PanelResult:
    """Return the cut score of a panel's ``estimates``, judges × items.

    Each estimate is the chance, 0 to 1, that somebody just good enough answers the item right.
    Source: Angoff 1971, in Thorndike (ed.), Educational Measurement, 2nd ed.

    Raises:
        InputError: fewer than two judges, or an estimate outside 0 to 1.

    >>> angoff_panel([[0.5, 0.7, 0.9], [0.7, 0.7, 0.9]]).cut
    2.2
    """
    matrix = np.asarray(estimates, dtype=float)
    if matrix.ndim != 2 or matrix.shape[0] < 2 or matrix.shape[1] < 1:
        raise InputError(
            "a panel needs at least two judges and one item.",
            field="estimates",
            value=matrix.shape,
            remedy="Invite another judge.",
        )
    if not ((matrix >= 0) & (matrix <= 1)).all():
        raise InputError("an estimate is a chance from 0 to 1.", field="estimates", value="outside")
    cuts = matrix.sum(axis=1)
    spread = float(cuts.std(ddof=1))
    error = spread / math.sqrt(len(cuts))
    cut = round(float(cuts.mean()), 12)
    return PanelResult(
        judges=matrix.shape[0],
        items=matrix.shape[1],
        judge_cuts=tuple(cuts.tolist()),
        cut=cut,
        spread=spread,
        standard_error=error,
        adjusted_cut=cut - error,
        agreement=_agreement(matrix),
        item_means=tuple(matrix.mean(axis=0).tolist()),
        item_spreads=tuple(matrix.std(axis=0, ddof=1).tolist()),
    )


def _agreement(matrix: Numbers) -> float | None:
    if matrix.shape[1] < 2 or matrix.sum(axis=0).var() == 0:
        return None
    return cronbach_alpha(matrix.T)


@dataclass(frozen=True, slots=True)
class Consistency:
    """How often two parallel forms would decide alike, and how often the decision is true.

    ``accuracy`` is None where the method gives none.
    """

    agreement: float
    chance: float
    kappa: float
    accuracy: float | None = None
    false_pass: float | None = None
    false_fail: float | None = None


def kappa(agreement: float, chance: float) -> float:
    """Return Cohen's kappa.

    >>> round(kappa(0.7544, 0.6591), 4)  # Subkoviak 1976, KR-21 .58 (rounded there to .2795)
    0.2796
    """
    return (agreement - chance) / (1 - chance)


def subkoviak(totals: npt.ArrayLike, items: int, cut: int, reliability: float) -> Consistency:
    """Return single-form decision consistency: a binomial about each regressed score.

    Source: Subkoviak 1976, Journal of Educational Measurement 13.
    """
    shares = np.asarray(totals, dtype=float) / items
    true = reliability * shares + (1 - reliability) * shares.mean()
    passing = scipy.stats.binom.sf(cut - 1, items, true)
    agreement = float((passing**2 + (1 - passing) ** 2).mean())
    rate = float(passing.mean())
    chance = rate**2 + (1 - rate) ** 2
    return Consistency(agreement, chance, kappa(agreement, chance))


def livingston_lewis(
    low: float, high: float, alpha: float, beta: float, *, length: int, cut: float
) -> Consistency:
    """Return consistency and accuracy for a four-parameter beta true score.

    True shares follow Beta(``alpha``, ``beta``) stretched to ``low``–``high``; scores on a form
    of effective ``length`` are binomial; ``cut`` is a share of the items.
    Source: Livingston & Lewis 1995, Journal of Educational Measurement 32.
    """
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    unit = (nodes + 1) / 2
    density = scipy.stats.beta.pdf(unit, alpha, beta) * weights / 2
    true = low + (high - low) * unit
    passing = scipy.stats.binom.sf(math.ceil(cut * length - 1e-9) - 1, length, true)
    agreement = float(density @ (passing**2 + (1 - passing) ** 2))
    rate = float(density @ passing)
    chance = rate**2 + (1 - rate) ** 2
    worthy = _worthy(low, high, alpha, beta, cut)
    return Consistency(agreement, chance, kappa(agreement, chance), *_accuracy(worthy, length, cut))


@dataclass(frozen=True, slots=True)
class _Half:
    """One side of the cut: nodes of the true share and their probability weights."""

    true: Numbers
    weight: Numbers


def _worthy(low: float, high: float, alpha: float, beta: float, cut: float) -> tuple[_Half, _Half]:
    """Return nodes below and above the cut, integrated apart since the decision jumps there."""
    edge = min(max((cut - low) / (high - low), 0.0), 1.0)
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)

    def half(start: float, end: float) -> _Half:
        unit = start + (end - start) * (nodes + 1) / 2
        weight = scipy.stats.beta.pdf(unit, alpha, beta) * weights * (end - start) / 2
        return _Half(low + (high - low) * unit, weight)

    return half(0.0, edge), half(edge, 1.0)


def _accuracy(halves: tuple[_Half, _Half], length: int, cut: float) -> tuple[float, float, float]:
    least = math.ceil(cut * length - 1e-9) - 1
    below, above = halves
    false_pass = float(below.weight @ scipy.stats.binom.sf(least, length, below.true))
    false_fail = float(above.weight @ scipy.stats.binom.cdf(least, length, above.true))
    return 1 - false_pass - false_fail, false_pass, false_fail


def beta_from_scores(totals: npt.ArrayLike, items: int, reliability: float) -> tuple[float, float]:
    """Return (α, β) of a true share between 0 and 1 with the moments that the scores imply."""
    shares = np.asarray(totals, dtype=float) / items
    mean = float(shares.mean())
    variance = float(shares.var()) * reliability
    if not 0 < variance < mean * (1 - mean):
        raise InputError(
            "these scores do not vary enough (or too much) to estimate decision consistency.",
            field="totals",
            value=f"mean {mean:.3f}, variance {variance:.4f}",
            remedy="Wait for more sittings.",
        )
    strength = mean * (1 - mean) / variance - 1
    return mean * strength, (1 - mean) * strength
