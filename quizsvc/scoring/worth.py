"""Which of several items is worth putting to a person now, and why.

An item is worth most that lies near the person's level, where an answer tells most; that would
show a wrong idea not cleared yet; and that neither this person nor everybody has seen lately.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quizsvc.scoring.competence import NODES, Belief, ItemParameters, chance_right

IDEA = 0.6  # worth of an item that would show an idea held now
SEEN = 1.2  # what an item put just now loses; it comes back evenly
EXPOSED = 0.2  # what the item seen most by everybody loses
_KEPT = sum(weight for _, weight in NODES if weight > 1e-3)  # the others weigh 0.01 % together
_CENTRAL = tuple((x, weight / _KEPT) for x, weight in NODES if weight > 1e-3)
MIXED = 0.2  # chance in the order, so that two people alike do not get the same round


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item that could be put. ``seen_ago`` counts the person's items since, None for never."""

    ref: str
    item: ItemParameters
    ideas: frozenset[str] = frozenset()
    seen_ago: int | None = None
    exposure: int = 0  # answers by everybody


@dataclass(frozen=True, slots=True)
class Worth:
    ref: str
    size: float
    idea: str  # held by the person, and this item would show it; or empty


def information(item: ItemParameters, level: Belief) -> float:
    """Return Fisher's information of an item, averaged over what is believed of the level.

    For an item that can be guessed: Birnbaum 1968, in Lord & Novick, chapter 20.

    >>> round(information(ItemParameters(a=1.5, b=1.0), Belief(1.0, 1e-12)), 4)
    0.5625
    """
    spread = math.sqrt(level.variance)
    return sum(w * _information_at(item, level.mean + spread * x) for x, w in _CENTRAL)


def _information_at(item: ItemParameters, level: float) -> float:
    p = chance_right(level, item)
    part = (p - item.c) / (1.0 - item.c)
    return item.a**2 * part * part * (1.0 - p) / max(p, 1e-9)


def ranked(
    candidates: Sequence[Candidate],
    level: Belief,
    *,
    held: frozenset[str],
    remembered: int,
    chances: Sequence[float],
) -> tuple[Worth, ...]:
    """Return the candidates, most worth first.

    ``held`` are the ideas the person holds; ``remembered`` says how many of their items
    ``seen_ago`` looks back; ``chances`` holds a number from 0 to 1 for each candidate.
    """
    told = [information(one.item, level) for one in candidates]
    most_told = max(told, default=1.0) or 1.0
    most_seen = max((one.exposure for one in candidates), default=1) or 1
    found = [
        Worth(
            one.ref,
            info / most_told
            + IDEA * bool(one.ideas & held)
            - SEEN * _still_fresh(one.seen_ago, remembered)
            - EXPOSED * one.exposure / most_seen
            + MIXED * chance,
            min(one.ideas & held, default=""),
        )
        for one, info, chance in zip(candidates, told, chances, strict=True)
    ]
    return tuple(sorted(found, key=lambda worth: -worth.size))


def _still_fresh(seen_ago: int | None, remembered: int) -> float:
    """Return 1 for an item put just now, falling evenly to 0 for one no longer remembered."""
    if seen_ago is None or seen_ago >= remembered:
        return 0.0
    return 1.0 - seen_ago / remembered
