"""Refit the competence filter on a log: how well constants foretell, and better ones.

Whole people are held out: constants are tuned on some and judged on the others, since what helps
those it was tuned on need not help anybody else.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from quizsvc.scoring.calibration import Numbers
from quizsvc.scoring.competence import (
    Belief,
    Competence,
    FilterSettings,
    ItemParameters,
    after_answer,
    after_idle,
    expected_chance,
    newcomer,
)

SECONDS_A_DAY = 86_400.0
HELD_OUT = 5  # every fifth person judges
_FLOOR = 1e-6

# Tried one after another, each time keeping the best; the order is that of what matters most.
LADDERS: dict[str, tuple[float, ...]] = {
    "general_variance": (0.1, 0.25, 0.5, 1.0, 1.6),
    "topic_variance": (0.15, 0.35, 0.7, 1.0, 1.6),
    "learning": (0.0, 0.03, 0.06, 0.1, 0.16),
    "fade_days": (30.0, 60.0, 90.0, 180.0, 400.0),
    "topic_drift": (0.0, 0.005, 0.01, 0.02, 0.04),
}


@dataclass(frozen=True, slots=True)
class Step:
    """One answer of a person's history."""

    topic: str
    item: str
    correct: bool
    at: datetime


History = tuple[Step, ...]  # of one person, in order


def log_loss(
    histories: Iterable[History], items: Mapping[str, ItemParameters], settings: FilterSettings
) -> float:
    """Return the mean −ln of the chance given to what came, each answer foretold before it.

    0 would be certainty; ln 2 = .693 is what a coin gives.
    """
    total, answers = 0.0, 0
    for history in histories:
        for chance, correct in foretold(history, items, settings):
            total -= math.log(max(_FLOOR, chance if correct else 1.0 - chance))
            answers += 1
    return total / max(1, answers)


def foretold(
    history: History, items: Mapping[str, ItemParameters], settings: FilterSettings
) -> Iterable[tuple[float, bool]]:
    """Yield the chance foretold of each answer, and whether it was right."""
    start = newcomer(settings)
    general = start.general
    topics: dict[str, tuple[Belief, datetime]] = {}
    for step in history:
        topic = start.topic
        if step.topic in topics:
            known, last = topics[step.topic]
            days = max(0.0, (step.at - last).total_seconds() / SECONDS_A_DAY)
            topic = after_idle(known, days, settings)
        before = Competence(general, topic)
        item = items[step.item]
        yield expected_chance(before.total, item), step.correct
        after = after_answer(before, item, correct=step.correct, settings=settings)
        general = after.general
        topics[step.topic] = (after.topic, step.at)


@dataclass(frozen=True, slots=True)
class Tuning:
    """Where tuning stands: constants, their loss on the people tuned on, and rungs done."""

    settings: FilterSettings
    loss: float
    done: int

    @property
    def finished(self) -> bool:
        return self.done >= rungs()


def rungs() -> int:
    """Return how many constants are tried in all."""
    return sum(len(ladder) for ladder in LADDERS.values())


def tune(
    histories: tuple[History, ...],
    items: Mapping[str, ItemParameters],
    start: Tuning,
    report: Callable[[Tuning], None],
) -> Tuning:
    """Try every rung from where ``start`` stands; ``report`` is called after each.

    Coordinate search on a ladder, once through: five constants of twenty-five values cost
    twenty-five passes over the log, and more passes gained less than a thousandth in trials.
    """
    now = start
    trials = [(name, value) for name, ladder in LADDERS.items() for value in ladder]
    for name, value in trials[start.done :]:
        tried = replace(now.settings, **{name: value})
        loss = now.loss if tried == now.settings else log_loss(histories, items, tried)
        better = loss < now.loss - 1e-6
        now = Tuning(tried if better else now.settings, loss if better else now.loss, now.done + 1)
        report(now)
    return now


def restated(slope: float, difficulty: float, guessing: float) -> tuple[float, float]:
    """Return slope and difficulty that, with a chance of guessing, give nearly the same curve.

    The marginal calibration knows no guessing; the filter adds it, so its share is taken out
    here by least squares on the logit, weighted by N(0, 1) and the information.

    >>> restated(1.0, 0.5, 0.0)
    (1.0, 0.5)
    """
    if guessing <= 0:
        return slope, difficulty
    theta: Numbers = np.linspace(-3, 3, 61)
    chance = 1 / (1 + np.exp(-slope * (theta - difficulty)))
    share = np.clip((chance - guessing) / (1 - guessing), 0.0, 1.0)
    use = (share > 0.02) & (share < 0.98)
    if use.sum() < 5:
        return slope, difficulty
    theta, share = theta[use], share[use]
    weight = np.exp(-0.5 * theta**2) * share * (1 - share)
    logit = np.log(share / (1 - share))
    mean_t, mean_l = np.average(theta, weights=weight), np.average(logit, weights=weight)
    spread = np.average((theta - mean_t) ** 2, weights=weight)
    a = float(np.average((theta - mean_t) * (logit - mean_l), weights=weight) / spread)
    a = min(4.0, max(0.2, a))
    return a, float(mean_t - mean_l / a)


def split(histories: Mapping[int, History]) -> tuple[tuple[History, ...], tuple[History, ...]]:
    """Return those to fit on and those held out: every fifth person, by key."""
    people = sorted(histories)
    held = set(people[HELD_OUT - 1 :: HELD_OUT])
    return (
        tuple(histories[one] for one in people if one not in held),
        tuple(histories[one] for one in people if one in held),
    )


def response_matrix(histories: Iterable[History], items: list[str]) -> Numbers:
    """Return first answers, persons × items, NaN where an item was not put.

    The first one of a person to an item only: later ones show what practice did.
    """
    place = {item: n for n, item in enumerate(items)}
    rows = []
    for history in histories:
        row = np.full(len(items), np.nan)
        for step in history:
            at = place.get(step.item)
            if at is not None and np.isnan(row[at]):
                row[at] = float(step.correct)
        rows.append(row)
    return np.array(rows, dtype=float).reshape(len(rows), len(items))
