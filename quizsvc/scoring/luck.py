"""What luck alone gives: the chance of getting an item right without knowing anything."""

from __future__ import annotations

import math

from quizsvc.items.model import Item, Kind

MOST = 0.5  # a model of guessing says nothing above this


def guessing_chance(item: Item) -> float:
    """Return the chance in [0, 0.5] of a right answer by guessing; 0 for a number typed in."""
    match item.kind:
        case Kind.ONE_CHOICE:
            return min(MOST, 1.0 / len(item.options))
        case Kind.SEVERAL_CHOICES:
            return min(MOST, 1.0 / ((1 << len(item.options)) - 1))
        case Kind.ORDER:
            things = item.key.sequence
            return min(MOST, right_orders(things, item.key.before) / math.factorial(len(things)))
        case Kind.MATCH:
            partners = len(item.right) or len(item.key.pairs)
            chosen = min(partners, len(item.key.pairs))
            return min(MOST, 1.0 / math.perm(partners, chosen))
        case Kind.POINT if item.places:
            return min(MOST, len(item.key.areas) / len(item.places))
        case _:
            return 0.0


def right_orders(things: tuple[str, ...], before: tuple[tuple[str, str, str], ...]) -> int:
    """Return how many orders keep every rule; one if there are none, the sequence itself.

    Counts over the sets of things already placed: 2^n of them, at most 4096 for 12 things.

    >>> right_orders(("a", "b", "c"), (("a", "b", ""),))
    3
    """
    if not before:
        return 1
    place = {thing: 1 << number for number, thing in enumerate(things)}
    needed = dict.fromkeys(place.values(), 0)
    for first, later, _ in before:
        needed[place[later]] |= place[first]
    ways = [0] * (1 << len(things))
    ways[0] = 1
    for placed, count in enumerate(ways):
        for bit, needs in needed.items():
            if count and not placed & bit and placed & needs == needs:
                ways[placed | bit] += count
    return ways[-1]
