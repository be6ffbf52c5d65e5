"""Finding room for names beside what they name: on paper, off lines, off each other."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from quizsvc.figures import parts
from quizsvc.figures.lettering import text_width
from quizsvc.figures.scene import Anchor, Ink, Label, Lines, Point, Shape, at_clock

Box = tuple[float, float, float, float]

_DISTANCES = (9.0, 16.0, 30.0, 48.0, 76.0, 110.0, 150.0)
_DIRECTIONS = (90, 270, 60, 300, 120, 240, 30, 330, 150, 210, 0, 180)
_LINE = 19.0
_AIR = 3.0


@dataclass(frozen=True, slots=True)
class Named:
    """A round thing and the words that belong to it, line by line."""

    lines: tuple[str, ...]
    centre: Point
    radius: float
    ink: Ink = Ink.LINE


@dataclass(frozen=True, slots=True)
class _Place:
    box: Box
    anchor: Anchor
    leader: tuple[Point, Point] | None
    inside: bool = False  # stands on the thing itself


def named(
    things: Sequence[Named],
    bounds: Box,
    *,
    dots: Sequence[Point] = (),
    taken: Sequence[Box] = (),
) -> list[Shape]:
    """Return the words of each thing, with a leader where they stand off.

    Args:
        things: what is named; their discs are kept free of other things' words.
        bounds: the paper: left, top, right, bottom.
        dots: points that no word may cover, such as the pins of a chain.
        taken: boxes already written on.
    """
    shapes: list[Shape] = []
    boxes = list(taken)
    ordered = sorted(dots)  # from left to right, so that a box looks only at those in its width
    for thing in things:
        place = _best(thing, things, bounds, ordered, boxes)
        boxes.append(place.box)
        if place.leader is not None:
            shapes.append(Lines((place.leader,), parts.DIMENSION, name="leader"))
        shapes += _written(thing, place)
    return shapes


def _written(thing: Named, place: _Place) -> Iterator[Label]:
    left, top, right, _ = place.box
    x = {Anchor.START: left, Anchor.MIDDLE: (left + right) / 2, Anchor.END: right}[place.anchor]
    for row, line in enumerate(thing.lines):
        at = (x, top + _LINE * row + 15)
        yield Label(
            at, line, anchor=place.anchor, ink=thing.ink, bold=row == 0, halo=True, name="name"
        )


def _best(
    thing: Named,
    things: Sequence[Named],
    bounds: Box,
    dots: Sequence[Point],
    boxes: Sequence[Box],
) -> _Place:
    others = [other for other in things if other is not thing]
    best, least = None, float("inf")
    for place in _candidates(thing):
        cost = 0.5 if place.leader else 0.0
        cost += _cost(place.box, others if place.inside else things, bounds, boxes)
        if cost >= least:
            continue
        cost += _covered(place.box, dots)
        if cost < least:
            best, least = place, cost
        if cost < 1:
            break
    if best is None:
        raise AssertionError("there is always a candidate")
    return best


def _candidates(thing: Named) -> Iterator[_Place]:
    wide = max(text_width(line, parts.TEXT, bold=True) for line in thing.lines)
    high = _LINE * len(thing.lines)
    x, y = thing.centre
    for up in (0.55, -0.55):  # on the thing itself, clear of its hub
        middle = y + up * thing.radius
        if hypot(wide / 2, abs(up) * thing.radius + high / 2) < thing.radius * 0.86:
            box = (x - wide / 2, middle - high / 2, x + wide / 2, middle + high / 2)
            yield _Place(box, Anchor.MIDDLE, None, inside=True)
    for distance in _DISTANCES:
        for deg in _DIRECTIONS:
            yield _beside(thing, distance, deg, wide, high)


def _beside(thing: Named, distance: float, deg: int, wide: float, high: float) -> _Place:
    x, y = at_clock(thing.centre, thing.radius + distance, deg)
    across = sin(radians(deg))
    side = 0 if abs(across) < 0.1 else 1 if across > 0 else -1
    x += side * wide / 2
    y -= cos(radians(deg)) * high / 2
    box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    anchor = (Anchor.MIDDLE, Anchor.START, Anchor.END)[side]
    leader = None
    if distance > _DISTANCES[1]:
        rim = at_clock(thing.centre, thing.radius * 0.8, deg)
        leader = (rim, at_clock(thing.centre, thing.radius + distance - 4, deg))
    return _Place(box, anchor, leader)


def _cost(area: Box, others: Sequence[Named], bounds: Box, boxes: Sequence[Box]) -> float:
    """Return what is wrong with a place; below 1 nothing is."""
    left, top, right, bottom = area
    cost = 0.0
    if left < bounds[0] or top < bounds[1] or right > bounds[2] or bottom > bounds[3]:
        cost += 1000
    for box in boxes:
        if left < box[2] + _AIR and box[0] - _AIR < right and top < box[3] and box[1] < bottom:
            cost += 100
    for other in others:
        x = min(max(other.centre[0], left), right) - other.centre[0]
        y = min(max(other.centre[1], top), bottom) - other.centre[1]
        if hypot(x, y) < other.radius:
            cost += 20
    return cost


def _covered(area: Box, ordered: Sequence[Point]) -> float:
    left, top, right, bottom = area
    top, bottom = top - _AIR, bottom + _AIR
    first = bisect_left(ordered, (left - _AIR, float("-inf")))
    last = bisect_left(ordered, (right + _AIR, float("-inf")))
    return 4.0 * sum(top < y < bottom for _, y in ordered[first:last])
