"""How a group stands in a topic, from what is believed of each person in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist, fmean, pvariance

from quizsvc.scoring.standing import CUT, Standing

_HALF_WIDTH = NormalDist().inv_cdf(0.95)  # 90 % lie within so many standard deviations


@dataclass(frozen=True, slots=True)
class GroupStanding:
    """The group's mean chance on typical items, with an approximate 90 % interval of that mean.

    ``spread`` is the standard deviation between people; ``below`` counts those whose chance lies
    below the cut, ``sure_below`` those of whom it is nearly certain (90 %).
    """

    people: int
    chance: float
    low: float
    high: float
    spread: float
    below: int
    sure_below: int


def group_standing(standings: tuple[Standing, ...]) -> GroupStanding | None:
    """Return how a group stands; None where nobody has answered anything.

    The variance of the mean is that of each person's own uncertainty over the square of their
    number: it says how well these people are known, not how others would do.

    >>> one = Standing(0.6, 0.5, 0.7, 12, 1.0, 0.1)
    >>> group_standing((one, one)).chance
    0.6
    """
    known = [one for one in standings if one.answers > 0]
    if not known:
        return None
    chance = fmean(one.chance for one in known)
    own = [((one.high - one.low) / (2 * _HALF_WIDTH)) ** 2 for one in known]
    half = _HALF_WIDTH * math.sqrt(sum(own)) / len(known)
    return GroupStanding(
        people=len(known),
        chance=chance,
        low=max(0.0, chance - half),
        high=min(1.0, chance + half),
        spread=math.sqrt(pvariance([one.chance for one in known])),
        below=sum(one.chance < CUT for one in known),
        sure_below=sum(one.certainty <= 0.1 for one in known),
    )
