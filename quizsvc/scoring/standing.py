"""Where a person stands in a topic, in terms people use: a chance, its interval, and words.

The practice gate ``ready`` is computed whenever it is read and never kept, because whoever is
looked at often enough passes once. What to expect of it for people who stand still at a true
chance of getting a typical item right, practising one topic with items of difficulty N(0, 1),
one choice of four (simulation of 4,000 people each; a test repeats it with fewer):

    true chance   ready after 10   after 20   after 40 answers   at some time within 40
       50 %             0 %           1 %          1 %                   6 %
       60 %             1 %           3 %          4 %                  19 %
       70 %  (cut)      2 %           9 %         18 %                  47 %
       80 %             6 %          27 %         52 %                  83 %
       90 %            18 %          64 %         91 %                  99 %

The learning step of the filter lifts what is believed of people who in truth stand still, so
the gate is lenient near the cut. It opens practice, nothing else.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from statistics import NormalDist

from quizsvc.items.model import Level
from quizsvc.scoring.competence import (
    DEFAULTS,
    Belief,
    FilterSettings,
    ItemParameters,
    after_idle,
    chance_right,
    expected_chance,
)

# A typical item: put as a number to type, of middling difficulty. A shop's calibrated items of
# the topic take its place once there are any; the cut is mapped through the same curve.
TYPICAL = (ItemParameters(),)
CUT = 0.7  # share of typical items got right
READY_CERTAINTY = 0.9
READY_ANSWERS = 10
READY_DAYS = 90.0
FADING_DAYS = 30.0
FEW_ANSWERS = 3
MOST_IDEAS = 3  # that add to the need of a topic
_HALF_WIDTH = NormalDist().inv_cdf(0.95)  # 90 % lie within so many standard deviations

# Until an item is calibrated (logits; a starting guess, no source).
_DIFFICULTY = {Level.RECALL: -0.5, Level.APPLY: 0.0, Level.DIAGNOSE: 0.5}


@dataclass(frozen=True, slots=True)
class Standing:
    """Chance of getting a typical item right, with an approximate 90 % interval."""

    chance: float
    low: float
    high: float
    answers: int
    days_idle: float
    certainty: float  # that the level lies above the cut, 0 to 1

    @property
    def ready(self) -> bool:
        return (
            self.certainty >= READY_CERTAINTY
            and self.answers >= READY_ANSWERS
            and self.days_idle <= READY_DAYS
        )


def uncalibrated(level: Level, guessing: float) -> ItemParameters:
    """Return what is assumed of an item before anybody's answers have calibrated it."""
    return ItemParameters(b=_DIFFICULTY[level], c=guessing)


def item_parameters(
    fitted: tuple[float, float] | None, level: Level, guessing: float
) -> ItemParameters:
    """Return how hard an item is: as calibrated, or as its level lets expect.

    ``fitted`` are slope and difficulty in logits, None before the item was calibrated; ``guessing``
    is the chance of a right answer by somebody who knows nothing.
    """
    if fitted is None:
        return uncalibrated(level, guessing)
    return ItemParameters(*fitted, guessing)


def stands(
    general: Belief,
    topic: Belief,
    *,
    answers: int,
    days_idle: float,
    typical: tuple[ItemParameters, ...] = TYPICAL,
    settings: FilterSettings = DEFAULTS,
) -> Standing:
    """Return the standing today of a person whose beliefs date from ``days_idle`` days ago."""
    now = after_idle(topic, max(0.0, days_idle), settings)
    total = Belief(general.mean + now.mean, general.variance + now.variance)
    return of_level(total, answers=answers, days_idle=days_idle, typical=typical)


def of_level(
    total: Belief,
    *,
    answers: int,
    days_idle: float,
    typical: tuple[ItemParameters, ...] = TYPICAL,
) -> Standing:
    """Return the standing that a belief about the whole level amounts to."""
    spread = math.sqrt(total.variance)
    cut = level_at(CUT, typical)
    return Standing(
        chance=sum(expected_chance(total, item) for item in typical) / len(typical),
        low=typical_chance(total.mean - _HALF_WIDTH * spread, typical),
        high=typical_chance(total.mean + _HALF_WIDTH * spread, typical),
        answers=answers,
        days_idle=days_idle,
        certainty=1.0 - NormalDist(total.mean, spread).cdf(cut),
    )


def typical_chance(level: float, typical: tuple[ItemParameters, ...] = TYPICAL) -> float:
    """Return the topic's characteristic curve at a level: the mean chance over typical items."""
    return sum(chance_right(level, item) for item in typical) / len(typical)


@lru_cache(maxsize=1024)
def level_at(chance: float, typical: tuple[ItemParameters, ...] = TYPICAL) -> float:
    """Return the level at which typical items are got right with this chance, by bisection.

    A chance below what guessing alone gives, or too near 1, gives the end of the scale (±12).

    >>> round(level_at(0.7), 4)
    0.8473
    """
    low, high = -12.0, 12.0
    for _ in range(60):
        middle = (low + high) / 2
        if typical_chance(middle, typical) < chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def in_words(standing: Standing, last: datetime | None) -> str:
    """Say a standing in one sentence, interval and date included."""
    if last is None or standing.answers == 0:
        return "Nothing answered here yet."
    on = f"last practised on {last.day} {last:%B %Y}"
    if standing.answers < FEW_ANSWERS:
        return f"Too few answers to tell ({standing.answers} so far); {on}."
    return (
        f"Gets about {_of_ten(standing.chance)} typical questions right, likely between "
        f"{_tenths(standing.low)} and {_tenths(standing.high)} (approximate); {on}."
    )


def why_not_ready(standing: Standing) -> str:
    """Say what keeps the practice gate shut, or nothing when it is open."""
    reasons = []
    if standing.answers < READY_ANSWERS:
        reasons.append(f"{READY_ANSWERS - standing.answers} more answers are needed")
    if standing.days_idle > READY_DAYS:
        reasons.append(f"the last answer is more than {READY_DAYS:.0f} days old")
    if standing.certainty < READY_CERTAINTY:
        reasons.append(f"it is not yet clear enough that {_of_ten(CUT)} would be right")
    return "; ".join(reasons)


@dataclass(frozen=True, slots=True)
class Need:
    """How much practice in a topic would help now, and the one line that says why."""

    size: float
    why: str


def need(
    standing: Standing, title: str, *, lately: float = 0.0, lost: float = 0.0, ideas: int = 0
) -> Need:
    """Weigh what speaks for practising a topic now: never tried, below the cut, fading, unclear.

    ``lately`` is the topic's share of the latest items, 0 to 1; a topic that fills them all
    keeps a quarter of its weight, since practice spread over topics holds better. ``lost`` is
    what the memory term has taken of the chance since the last answer; ``ideas`` counts wrong
    ideas of the topic not cleared yet.
    """
    rested = 1.0 - 0.75 * lately
    if standing.answers == 0:
        return Need(rested * (1.6 - 0.8 * standing.chance), f"You have not tried “{title}” yet.")
    parts = {
        f"“{title}” still goes wrong often: about {_of_ten(standing.chance)} come out right.": (
            2.0 * max(0.0, CUT - standing.chance)
        ),
        f"You last practised “{title}” {_days_ago(standing.days_idle)}; it fades.": (
            0.6 * min(1.0, standing.days_idle / READY_DAYS) + 2.0 * max(0.0, lost)
        ),
        f"In “{title}” you have shown a wrong idea that is not cleared yet.": (
            0.15 * min(ideas, MOST_IDEAS)
        ),
        f"It is not clear yet how you stand in “{title}”.": 0.5 * (standing.high - standing.low),
    }
    return Need(rested * sum(parts.values()), max(parts, key=parts.__getitem__))


def _of_ten(chance: float) -> str:
    return f"{_tenths(chance)} in 10"


def _tenths(chance: float) -> str:
    return str(round(10 * chance))


def _days_ago(days: float) -> str:
    whole = int(days)
    return {0: "today", 1: "yesterday"}.get(whole, f"{whole} days ago")
