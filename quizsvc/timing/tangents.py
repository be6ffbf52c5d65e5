"""Tangent strands and wraps: the geometry of a loop over wheels, strand by strand.

Conventions as in path.py: directions clockwise from straight up, seen from the chain end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from quizsvc.timing.quantity import number, refuse, turn_deg

DUST_DEG = 1e-7
DUST_MM = 1e-7


class Point(NamedTuple):
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class PathWheel:
    """One wheel, shoe or guide: centre, radius to the pitch line, and which side it touches.

    ``back``: it touches the back of the chain, from outside the loop.
    """

    x_mm: float
    y_mm: float
    radius_mm: float
    back: bool = False

    def __post_init__(self) -> None:
        number("x_mm", self.x_mm)
        number("y_mm", self.y_mm)
        number("radius_mm", self.radius_mm, above=0)
        if not isinstance(self.back, bool):
            refuse("back", self.back, "must be true or false.")


class Span(NamedTuple):
    """A free strand from the wheel of its index to the next."""

    start: Point
    end: Point
    length_mm: float


class WrapArc(NamedTuple):
    """The chain on one wheel: where it meets it, and how far it goes round."""

    wheel: int
    start_deg: float  # clockwise from straight up, in [0, 360)
    wrap_deg: float  # positive inside, negative on the back
    length_mm: float


def headings_deg(wheels: tuple[PathWheel, ...], way: int) -> tuple[float, ...]:
    """Heading of each strand, clockwise from straight up, in a drawing mirrored to run clockwise.

    With signed radii s the strand from i to j makes the angle asin((s_i − s_j)/d) with the line
    of centres, for outer and for crossed tangents alike.
    """
    following = (*wheels[1:], wheels[0])
    return tuple(
        _heading_deg(a, b, way, i) for i, (a, b) in enumerate(zip(wheels, following, strict=True))
    )


def arcs_of(
    wheels: tuple[PathWheel, ...], headings: tuple[float, ...], way: int
) -> tuple[WrapArc, ...]:
    """Lay the loop on each wheel between the strand that comes and the one that goes.

    Once round, the signed wraps add up to 360; any other sum means that some wheel is passed by
    or wound round more than once.
    """
    incoming = (headings[-1], *headings[:-1])
    arcs = tuple(
        _arc(wheel, i, comes, goes, way)
        for i, (wheel, comes, goes) in enumerate(zip(wheels, incoming, headings, strict=True))
    )
    if abs(math.fsum(arc.wrap_deg for arc in arcs) - 360) > DUST_DEG * len(arcs):
        worst = max(arcs, key=lambda arc: abs(arc.wrap_deg)).wheel
        refuse("wheels", wheels[worst],
               f"the chain does not close once round in this order; look first at wheel {worst}.",
               "Check the order, the places, and which wheels touch its back.")  # fmt: skip
    return arcs


def spans_of(
    wheels: tuple[PathWheel, ...], headings: tuple[float, ...], way: int
) -> tuple[Span, ...]:
    """Free strands, from each wheel to the next."""
    following = (*wheels[1:], wheels[0])
    ends = (
        (_tangent(a, heading, way), _tangent(b, heading, way))
        for a, b, heading in zip(wheels, following, headings, strict=True)
    )
    return tuple(Span(start, end, math.dist(start, end)) for start, end in ends)


def point_on_rim(wheel: PathWheel, at_deg: float) -> Point:
    """Place on the pitch line of a wheel, clockwise from straight up."""
    at = math.radians(at_deg)
    return Point(
        wheel.x_mm + wheel.radius_mm * math.sin(at), wheel.y_mm + wheel.radius_mm * math.cos(at)
    )


def refuse_crossing(spans: tuple[Span, ...]) -> None:
    """Two strands that cross would rub: the loop is laid round the wheels in a wrong order."""
    for i, one in enumerate(spans):
        for j in range(i + 1, len(spans)):
            if _cross(one, spans[j]):
                refuse("wheels", (i, j), f"the strands after wheel {i} and wheel {j} cross.",
                       "Check the order, and which wheels touch the back.")  # fmt: skip


def _heading_deg(wheel: PathWheel, following: PathWheel, way: int, index: int) -> float:
    across, up = way * (following.x_mm - wheel.x_mm), following.y_mm - wheel.y_mm
    apart = math.hypot(across, up)
    step = _signed_radius(wheel) - _signed_radius(following)
    if apart <= abs(step):
        refuse("wheels", (wheel, following),
               f"wheel {index} and the next are {apart:.4g} mm apart; a strand between them needs "
               f"more than {abs(step):.4g} mm.", "Set the centres further apart.")  # fmt: skip
    return math.degrees(math.atan2(across, up) + math.asin(step / apart))


def _arc(wheel: PathWheel, index: int, comes_deg: float, goes_deg: float, way: int) -> WrapArc:
    back = -1 if wheel.back else 1
    wrap = turn_deg(back * (goes_deg - comes_deg))
    wrap = 0.0 if wrap > 360 - DUST_DEG else wrap
    start = turn_deg(way * (comes_deg - back * 90))
    return WrapArc(index, start, back * wrap, math.radians(wrap) * wheel.radius_mm)


def _tangent(wheel: PathWheel, heading_deg: float, way: int) -> Point:
    return point_on_rim(wheel, way * (heading_deg + (90 if wheel.back else -90)))


def _signed_radius(wheel: PathWheel) -> float:
    return -wheel.radius_mm if wheel.back else wheel.radius_mm


def _cross(one: Span, other: Span) -> bool:
    return (
        _side(one, other.start) * _side(one, other.end) < 0
        and _side(other, one.start) * _side(other, one.end) < 0
    )


def _side(span: Span, point: Point) -> int:
    turned = (span.end.x_mm - span.start.x_mm) * (point.y_mm - span.start.y_mm) - (
        span.end.y_mm - span.start.y_mm
    ) * (point.x_mm - span.start.x_mm)
    return 0 if abs(turned) < DUST_MM else (1 if turned > 0 else -1)
