"""How well a person stands in a topic: a two-level logistic-Gaussian filter.

A general level and a deviation per topic, both normal on the logit scale, are moved by every
answer and spread again with idle time. Each update takes the same few microseconds however
long the history is.

Sources: assumed-density filtering, Minka 2001 ("Expectation propagation for approximate
Bayesian inference"); rating with uncertainty and idle time, Glickman 1999 (Applied Statistics
48); team rating split over parts, Herbrich, Minka & Graepel 2007; response models with
learning, Pelánek 2016; recency, Galyardt & Goldin 2015. Constants: untuned defaults, to be
refitted on a shop's own answers (`Settings` is a value for that reason).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.errors import InputError


@dataclass(frozen=True, slots=True)
class FilterSettings:
    """Constants of the filter, logit scale and days."""

    general_variance: float = 0.5  # before the first answer
    topic_variance: float = 1.0  # before the first answer, and the most idle time can restore
    fade_days: float = 90.0  # a deviation fades to 1/e of itself in so many idle days
    idle_variance_per_day: float = 0.002
    learning: float = 0.1  # rise of the topic by an answer nobody expected to be right
    topic_drift: float = 0.01  # variance added by each answer
    general_drift: float = 0.001
    least_evidence: float = 1e-9
    least_variance: float = 1e-3
    most_deviation: float = 6.0


DEFAULTS = FilterSettings()


@dataclass(frozen=True, slots=True)
class Belief:
    """A normal belief about a level: mean and variance on the logit scale."""

    mean: float
    variance: float


@dataclass(frozen=True, slots=True)
class Competence:
    """What is believed of one person in one topic: general level and the topic's deviation."""

    general: Belief
    topic: Belief

    @property
    def total(self) -> Belief:
        """The level in the topic: the sum of both parts."""
        return Belief(
            self.general.mean + self.topic.mean, self.general.variance + self.topic.variance
        )


@dataclass(frozen=True, slots=True)
class ItemParameters:
    """Slope ``a`` > 0, difficulty ``b`` (logits) and chance of guessing ``c`` in [0, 1)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0


# Nodes and weights of 15-point Gauss-Hermite quadrature for a standard normal:
# E[f(X)] ≈ Σ w f(x). Symmetric, so one half is listed. Computed with
# numpy.polynomial.hermite_e.hermegauss(15), weights divided by √(2π); a test computes them anew.
_HALF = (
    (0.0, 0.31825951825951815),
    (0.799129068324548, 0.23246229360973225),
    (1.6067100690287297, 0.08941779539984437),
    (2.432436827009758, 0.017365774492137616),
    (3.2890824243987664, 0.001567357503549956),
    (4.1962077112690155, 5.642146405189029e-05),
    (5.190093591304781, 5.975419597920599e-07),
    (6.363947888829839, 8.589649899633252e-10),
)
NODES: tuple[tuple[float, float], ...] = (
    *((-x, w) for x, w in reversed(_HALF[1:])),
    *_HALF,
)


def newcomer(settings: FilterSettings = DEFAULTS) -> Competence:
    """Return the belief about a person who has answered nothing."""
    return Competence(Belief(0.0, settings.general_variance), Belief(0.0, settings.topic_variance))


def chance_right(level: float, item: ItemParameters) -> float:
    """Return the chance in [c, 1] that a person at ``level`` (logits) gets the item right.

    >>> chance_right(0.0, ItemParameters(c=0.25))
    0.625
    """
    return item.c + (1.0 - item.c) * _logistic(item.a * (level - item.b))


def after_idle(topic: Belief, days: float, settings: FilterSettings = DEFAULTS) -> Belief:
    """Return the topic's deviation after ``days`` ≥ 0 without an answer: it fades and spreads.

    The variance never passes that of a newcomer.

    >>> after_idle(Belief(1.0, 0.2), 0.0)
    Belief(mean=1.0, variance=0.2)
    """
    if not 0 <= days < math.inf:
        raise InputError(
            "idle time runs from 0 upward.", field="days", value=days, remedy="Check the clock."
        )
    kept = math.exp(-days / settings.fade_days)
    spread = (1 - kept * kept) + settings.idle_variance_per_day * days
    return Belief(
        topic.mean * kept,
        min(settings.topic_variance, topic.variance * kept * kept + spread),
    )


def after_answer(
    before: Competence,
    item: ItemParameters,
    *,
    correct: bool,
    settings: FilterSettings = DEFAULTS,
) -> Competence:
    """Return the belief after one answer: evidence weighed, then practice and drift allowed for.

    The posterior of the total level is matched by mean and variance over 15 nodes, then split
    over general level and topic in proportion to their variances.

    >>> round(after_answer(newcomer(), ItemParameters(), correct=True).general.mean, 4)
    0.1928
    """
    _check(item)
    total = before.total
    evidence, mean, variance = _posterior(total, item, correct=correct, settings=settings)
    shift, shrink = mean - total.mean, 1.0 - variance / total.variance
    general = _moved(before.general, total.variance, shift, shrink)
    topic = _moved(before.topic, total.variance, shift, shrink)
    return Competence(
        Belief(
            general.mean,
            max(settings.least_variance, general.variance + settings.general_drift),
        ),
        Belief(
            _bounded(topic.mean + settings.learning * (1.0 - evidence), settings.most_deviation),
            max(settings.least_variance, topic.variance + settings.topic_drift),
        ),
    )


def expected_chance(level: Belief, item: ItemParameters) -> float:
    """Return the chance of a right answer averaged over what is believed of the level."""
    spread = math.sqrt(level.variance)
    return sum(w * chance_right(level.mean + spread * x, item) for x, w in NODES)


def _posterior(
    total: Belief, item: ItemParameters, *, correct: bool, settings: FilterSettings
) -> tuple[float, float, float]:
    """Return the evidence of the answer, and mean and variance of the level given it."""
    spread = math.sqrt(total.variance)
    evidence = first = second = 0.0
    for x, weight in NODES:
        right = chance_right(total.mean + spread * x, item)
        share = weight * (right if correct else 1.0 - right)
        evidence += share
        first += share * x
        second += share * x * x
    evidence = max(evidence, settings.least_evidence)
    at = first / evidence
    return evidence, total.mean + spread * at, total.variance * (second / evidence - at * at)


def _moved(part: Belief, total_variance: float, shift: float, shrink: float) -> Belief:
    """Give a part its share of the total's move: by its share ``f`` of the variance.

    m += f·shift and v −= f²·V·(1 − r), with V the total variance and 1 − r its relative loss.
    """
    share = part.variance / total_variance
    return Belief(
        part.mean + share * shift,
        part.variance - share * share * total_variance * shrink,
    )


def _logistic(logit: float) -> float:
    if logit >= 0:
        return 1.0 / (1.0 + math.exp(-logit))
    grown = math.exp(max(logit, -700.0))
    return grown / (1.0 + grown)


def _bounded(value: float, most: float) -> float:
    return max(-most, min(most, value))


def _check(item: ItemParameters) -> None:
    if not 0 < item.a < math.inf:
        raise InputError(
            "a slope is a positive number.", field="a", value=item.a, remedy="Recalibrate the item."
        )
    if not math.isfinite(item.b):
        raise InputError(
            "a difficulty is a finite number.",
            field="b",
            value=item.b,
            remedy="Recalibrate the item.",
        )
    if not 0 <= item.c < 1:
        raise InputError(
            "a chance of guessing lies from 0 to below 1.",
            field="c",
            value=item.c,
            remedy="Use 1 divided by the number of options, or 0 for a number.",
        )
