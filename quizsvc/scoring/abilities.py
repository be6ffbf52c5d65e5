"""What calibrated items tell: information, abilities, conditional Rasch estimates and fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from quizsvc.errors import InputError

Numbers = npt.NDArray[np.float64]


def chance_right(theta: npt.ArrayLike, a: npt.ArrayLike, b: npt.ArrayLike) -> Numbers:
    """Return σ(a(θ − b)), persons × items."""
    ability = np.atleast_1d(np.asarray(theta, dtype=float))[:, None]
    logit = np.asarray(a, dtype=float) * (ability - np.asarray(b, dtype=float))
    chance: Numbers = 1 / (1 + np.exp(-logit))
    return chance


def information(theta: npt.ArrayLike, a: npt.ArrayLike, b: npt.ArrayLike) -> Numbers:
    """Return Fisher's information a²p(1 − p), persons × items.

    >>> float(information(1.0, [1.5], [1.0])[0, 0])  # a²/4 at θ = b
    0.5625
    """
    chance = chance_right(theta, a, b)
    told: Numbers = np.asarray(a, dtype=float) ** 2 * chance * (1 - chance)
    return told


@dataclass(frozen=True, slots=True)
class Abilities:
    theta: Numbers
    standard_error: Numbers


def expected_abilities(
    responses: npt.ArrayLike, a: npt.ArrayLike, b: npt.ArrayLike, *, nodes: int = 61
) -> Abilities:
    """Return expected-a-posteriori abilities under N(0, 1), with their standard deviations.

    Source: Bock & Mislevy 1982, Applied Psychological Measurement 6.
    """
    matrix = np.asarray(responses, dtype=float)
    grid = np.linspace(-6.0, 6.0, nodes)
    slope = np.asarray(a, dtype=float)
    logit = slope * (grid[:, None] - np.asarray(b, dtype=float))
    log_wrong = -np.logaddexp(0.0, logit)
    put = ~np.isnan(matrix)
    joint = np.nan_to_num(matrix) @ logit.T + put @ log_wrong.T - 0.5 * grid**2
    joint = np.exp(joint - joint.max(axis=1, keepdims=True))
    joint /= joint.sum(axis=1, keepdims=True)
    mean = joint @ grid
    return Abilities(mean, np.sqrt(np.maximum(joint @ grid**2 - mean**2, 0.0)))


def conditional_rasch(scores: npt.ArrayLike, *, rounds: int = 100) -> Numbers:
    """Return Rasch item difficulties by conditional ML, their mean 0.

    Persons who have all right or all wrong tell nothing and are left out by the method itself.
    Source: Andersen 1972, J. Royal Statistical Society B 34; Newton on the elementary symmetric
    functions.
    """
    matrix = np.asarray(scores, dtype=float)
    if matrix.ndim != 2 or not np.isin(matrix, (0.0, 1.0)).all():
        raise InputError("complete 0/1 scores are needed.", field="scores", value=matrix.shape)
    items = matrix.shape[1]
    by_total = np.bincount(matrix.sum(axis=1).astype(int), minlength=items + 1)
    persons_by_total: Numbers = by_total[1:items].astype(float)
    inner = matrix[(matrix.sum(axis=1) > 0) & (matrix.sum(axis=1) < items)]
    right = inner.sum(axis=0)
    if ((right == 0) | (right == len(inner))).any():
        raise InputError(
            "an item was right for all or for none of the persons who tell anything.",
            field="scores",
            value=right.tolist(),
            remedy="Leave the item out.",
        )
    share = right / len(inner)
    beta: Numbers = -np.log(share / (1 - share))
    for _ in range(rounds):
        expected, spread = _conditional_moments(beta - beta.mean(), persons_by_total)
        # The spread matrix is singular along "all items harder"; the least-squares step
        # leaves that direction alone, so the mean stays 0.
        move = np.linalg.lstsq(spread, right - expected, rcond=1e-10)[0]
        beta = beta - move
        beta -= beta.mean()
        if np.abs(move).max() < 1e-10:
            break
    return beta


def symmetric_functions(easiness: Numbers) -> Numbers:
    """Return the elementary symmetric functions γ₀…γₙ of the items' easiness.

    >>> symmetric_functions(np.array([1.0, 2.0, 3.0])).tolist()
    [1.0, 6.0, 11.0, 6.0]
    """
    gamma = np.zeros(easiness.size + 1)
    gamma[0] = 1.0
    for count, value in enumerate(easiness, start=1):
        gamma[1 : count + 1] = gamma[1 : count + 1] + value * gamma[:count]
    return gamma


def _conditional_moments(beta: Numbers, persons_by_total: Numbers) -> tuple[Numbers, Numbers]:
    """Return expected right answers of each item given the totals, and their covariance."""
    easiness = np.exp(-beta)
    items = beta.size
    gamma = symmetric_functions(easiness)
    totals = np.arange(1, items)
    single = np.array(
        [
            e * symmetric_functions(np.delete(easiness, i))[totals - 1] / gamma[totals]
            for i, e in enumerate(easiness)
        ]
    )
    both = np.zeros((items, items, totals.size))
    for i in range(items):
        for j in range(i):
            rest = np.append(symmetric_functions(np.delete(easiness, [i, j])), 0.0)
            pair = np.where(totals >= 2, rest[totals - 2], 0.0) / gamma[totals]
            both[i, j] = both[j, i] = easiness[i] * easiness[j] * pair
        both[i, i] = single[i]
    spread = (both - single[:, None, :] * single[None, :, :]) @ persons_by_total
    return single @ persons_by_total, spread


@dataclass(frozen=True, slots=True)
class ItemFit:
    """Mean squares: near 1 as expected, above about 1.3 noisy (Wright & Linacre 1994)."""

    infit: Numbers
    outfit: Numbers


def item_fit(
    responses: npt.ArrayLike, theta: npt.ArrayLike, a: npt.ArrayLike, b: npt.ArrayLike
) -> ItemFit:
    """Return information-weighted and plain mean squares of the residuals of each item."""
    matrix = np.asarray(responses, dtype=float)
    chance = chance_right(theta, a, b)
    spread = chance * (1 - chance)
    put = ~np.isnan(matrix)
    gap2 = np.where(put, (np.nan_to_num(matrix) - chance) ** 2, 0.0)
    infit = gap2.sum(axis=0) / np.where(put, spread, 0.0).sum(axis=0)
    outfit = (gap2 / spread).sum(axis=0) / put.sum(axis=0)
    return ItemFit(infit, outfit)
