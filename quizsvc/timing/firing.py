"""Firing order, firing intervals, and what follows from them alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from quizsvc.timing.quantity import number, refuse, sequence, turn_deg, whole

CYCLE_DEG = 720.0
TURN_DEG = 360.0


def firing_interval_deg(cylinders: int) -> float:
    """Crank degrees between firings of an even-firing four-stroke engine: 720 / n.

    Source: engine texts.

    >>> firing_interval_deg(5)
    144.0
    """
    return CYCLE_DEG / whole("cylinders", cylinders, at_least=1)


def firing_angles_deg(
    firing_order: Sequence[int], intervals_deg: Sequence[float] | None = None
) -> dict[int, float]:
    """Give the firing TDC of each cylinder in [0, 720), cylinder 1 at 0.

    ``intervals_deg[i]`` are the crank degrees from the i-th firing of ``firing_order`` to the
    next, adding up to 720; left out, the engine fires evenly.

    >>> firing_angles_deg((1, 3, 4, 2))
    {1: 0.0, 3: 180.0, 4: 360.0, 2: 540.0}
    """
    order = firing_order_of(firing_order)
    intervals = _intervals(order, intervals_deg)
    angles: dict[int, float] = {}
    at = 0.0
    for cylinder, interval in zip(order, intervals, strict=True):
        angles[cylinder] = at
        at += interval
    first = angles[1]
    return {cylinder: turn_deg(angle - first, CYCLE_DEG) for cylinder, angle in angles.items()}


def companion_cylinder(firing_deg: Mapping[int, float], cylinder: int) -> int | None:
    """Find the cylinder whose piston moves alike one turn apart in the cycle, if there is one.

    >>> companion_cylinder(firing_angles_deg((1, 3, 4, 2)), 3)
    2
    """
    here = firing_deg[known_cylinder(firing_deg, cylinder)]
    for other, angle in firing_deg.items():
        if abs(turn_deg(angle - here, CYCLE_DEG) - TURN_DEG) < 1e-6:
            return other
    return None


def next_to_fire(firing_order: Sequence[int], cylinder: int) -> int:
    """Find the cylinder that fires after ``cylinder``.

    >>> next_to_fire((1, 3, 4, 2), 2)
    1
    """
    order = firing_order_of(firing_order)
    if cylinder not in order:
        known_cylinder(dict.fromkeys(order), cylinder)
    return order[(order.index(cylinder) + 1) % len(order)]


def firing_order_of(firing_order: object) -> tuple[int, ...]:
    """Return the order as a tuple if it is a permutation of 1 to n, or raise InputError."""
    order = sequence("firing_order", firing_order)
    return permutation_of(order, tuple(range(1, len(order) + 1)))


def permutation_of(firing_order: object, numbers: tuple[int, ...]) -> tuple[int, ...]:
    """Return the order as a tuple if it names each of the cylinders once, or raise InputError."""
    order = tuple(
        whole("firing_order", c, at_least=1) for c in sequence("firing_order", firing_order)
    )
    if not order:
        refuse("firing_order", order, "is empty.", "Name each cylinder once.")
    twice = sorted({c for c in order if order.count(c) > 1})
    if twice:
        refuse("firing_order", order, f"names cylinder {twice[0]} more than once.",
               "Name each cylinder once.")  # fmt: skip
    if set(order) != set(numbers):
        wrong = min(set(order) ^ set(numbers))
        what = "leaves out" if wrong in numbers else "names an unknown"
        refuse("firing_order", order, f"{what} cylinder {wrong}.", "Name each cylinder once.")
    return order


def _intervals(order: tuple[int, ...], intervals: Sequence[float] | None) -> tuple[float, ...]:
    if intervals is None:
        return (firing_interval_deg(len(order)),) * len(order)
    found = tuple(number("intervals_deg", i, above=0) for i in sequence("intervals_deg", intervals))
    if len(found) != len(order):
        refuse("intervals_deg", found, f"must hold {len(order)} values, one for each firing.")
    if abs(sum(found) - CYCLE_DEG) > 1e-6:
        refuse("intervals_deg", found, f"adds up to {sum(found):g}, not to 720.")
    return found


def known_cylinder(cylinders: Mapping[int, object], cylinder: int) -> int:
    """Return the cylinder if the engine has it, or raise InputError."""
    if cylinder not in cylinders:
        refuse("cylinder", cylinder, "is not a cylinder of this engine.",
               f"Choose one of {', '.join(str(c) for c in sorted(cylinders))}.")  # fmt: skip
    return cylinder
