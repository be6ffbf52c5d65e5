"""The path of a chain or belt over any number of wheels, inside or with its back.

Places in mm, x to the right and y up, seen from the chain end. Directions on wheels in degrees
clockwise from straight up. Radii are those of the pitch line; wraps are positive on wheels inside
the loop and negative on wheels that press from outside, so that they add up to 360.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from quizsvc.timing.quantity import number, refuse, sequence, turn_deg, whole

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


@dataclass(frozen=True, slots=True)
class DrivePath:
    """A closed loop over wheels in the order in which the running chain meets them.

    ``clockwise`` is the way the loop runs, seen from the chain end; inside wheels turn the same
    way, back-side wheels the other way. Distances along the path start where the chain meets
    wheel 0. Raises InputError when neighbours stand too close for a strand between them, or when
    the chain would not lie on each wheel in this order.

    >>> pair = DrivePath((PathWheel(0, 0, 50), PathWheel(0, 300, 50)))
    >>> round(pair.length_mm, 4), [arc.wrap_deg for arc in pair.arcs]
    (914.1593, [180.0, 180.0])
    """

    wheels: tuple[PathWheel, ...]
    clockwise: bool = True
    spans: tuple[Span, ...] = field(init=False, repr=False, compare=False)
    arcs: tuple[WrapArc, ...] = field(init=False, repr=False, compare=False)
    length_mm: float = field(init=False, compare=False)
    _arc_begins: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        wheels = _wheels(self.wheels)
        if not isinstance(self.clockwise, bool):
            refuse("clockwise", self.clockwise, "must be true or false.")
        headings = _headings_deg(wheels, self._way)
        arcs = _arcs(wheels, headings, self._way)
        spans = _spans(wheels, headings, self._way)
        _refuse_crossing(spans)
        object.__setattr__(self, "wheels", wheels)
        object.__setattr__(self, "arcs", arcs)
        object.__setattr__(self, "spans", spans)
        object.__setattr__(self, "_arc_begins", _begins(arcs, spans))
        total = math.fsum(arc.length_mm for arc in arcs) + math.fsum(s.length_mm for s in spans)
        object.__setattr__(self, "length_mm", total)

    @property
    def _way(self) -> int:
        return 1 if self.clockwise else -1

    def pitches(self, pitch_mm: float) -> float:
        """Pitches of chain the loop takes: on a wheel the pins stand on a polygon.

        Smaller than length / pitch by about wrap/360·π²/(6N) on each wheel of N teeth.

        >>> from quizsvc.timing.chain import pitch_diameter_mm
        >>> wheel = pitch_diameter_mm(10, 20) / 2
        >>> pair = DrivePath((PathWheel(0, 0, wheel), PathWheel(0, 200, wheel)))
        >>> round(pair.pitches(10), 6)
        60.0
        """
        strands = math.fsum(span.length_mm for span in self.spans)
        on_wheels = (self._pitches_on(arc, arc.wrap_deg, pitch_mm) for arc in self.arcs)
        return strands / number("pitch_mm", pitch_mm, above=0) + math.fsum(on_wheels)

    def belt_pitches(self, pitch_mm: float) -> float:
        """Pitches of a toothed belt: its pitch is measured along the arc, length / pitch."""
        return self.length_mm / number("pitch_mm", pitch_mm, above=0)

    def teeth_in_mesh(self, wheel_index: int, teeth: int) -> float:
        """Teeth of a wheel that the chain lies on: its wrap over 360, times its teeth.

        >>> DrivePath((PathWheel(0, 0, 50), PathWheel(0, 300, 50))).teeth_in_mesh(0, 40)
        20.0
        """
        arc = self.arcs[self._index(wheel_index)]
        return abs(arc.wrap_deg) / 360 * whole("teeth", teeth, at_least=3)

    def turns_clockwise(self, wheel_index: int) -> bool:
        """Whether the wheel turns clockwise: a back-side wheel turns against the others."""
        return self.clockwise != self.wheels[self._index(wheel_index)].back

    def distance_of(self, wheel_index: int, at_deg: float) -> float:
        """Mm along the path to the place where the chain lies on a wheel at this direction.

        In [0, length). Raises InputError where the chain does not touch the wheel.
        """
        arc = self.arcs[self._index(wheel_index)]
        along = self._deg_along(arc, at_deg)
        radius = self.wheels[arc.wheel].radius_mm
        return self._arc_begins[arc.wheel] + math.radians(along) * radius

    def pitches_to(self, wheel_index: int, at_deg: float, pitch_mm: float) -> float:
        """Pitches of chain from where it meets wheel 0 to this direction on a wheel."""
        number("pitch_mm", pitch_mm, above=0)
        here = self._index(wheel_index)
        arc = self.arcs[here]
        before = math.fsum(
            self._pitches_on(a, a.wrap_deg, pitch_mm) + s.length_mm / pitch_mm
            for a, s in zip(self.arcs[:here], self.spans[:here], strict=True)
        )
        return before + self._pitches_on(arc, self._deg_along(arc, at_deg), pitch_mm)

    def touches(self, wheel_index: int, at_deg: float) -> bool:
        """Whether the chain lies on the wheel at this direction."""
        arc = self.arcs[self._index(wheel_index)]
        return self._past_start_deg(arc, at_deg) <= abs(arc.wrap_deg) + DUST_DEG

    def point_at(self, distance_mm: float) -> Point:
        """Place on the path at a distance; whole loops are taken off."""
        left = number("distance_mm", distance_mm) % self.length_mm
        for arc, span in zip(self.arcs, self.spans, strict=True):
            if left <= arc.length_mm:
                return self._on_arc(arc, left)
            left -= arc.length_mm
            if left <= span.length_mm:
                return _on_span(span, left)
            left -= span.length_mm
        return self.spans[-1].end  # rounding left a hair over

    def _on_arc(self, arc: WrapArc, distance_mm: float) -> Point:
        wheel = self.wheels[arc.wheel]
        turned = math.degrees(distance_mm / wheel.radius_mm) * self._turn_of(wheel)
        return _rim(wheel, arc.start_deg + turned)

    def _deg_along(self, arc: WrapArc, at_deg: float) -> float:
        past = self._past_start_deg(arc, number("at_deg", at_deg))
        if past > abs(arc.wrap_deg) + DUST_DEG:
            refuse("at_deg", at_deg, f"the chain does not touch wheel {arc.wheel} there.",
                   f"It lies from {arc.start_deg:.1f}° over {abs(arc.wrap_deg):.1f}°.")  # fmt: skip
        return min(past, abs(arc.wrap_deg))

    def _past_start_deg(self, arc: WrapArc, at_deg: float) -> float:
        past = turn_deg((at_deg - arc.start_deg) * self._turn_of(self.wheels[arc.wheel]))
        return 0.0 if past > 360 - DUST_DEG else past

    def _turn_of(self, wheel: PathWheel) -> int:
        return -self._way if wheel.back else self._way

    def _pitches_on(self, arc: WrapArc, deg: float, pitch_mm: float) -> float:
        radius = self.wheels[arc.wheel].radius_mm
        if pitch_mm > 2 * radius:
            refuse("pitch_mm", pitch_mm, f"is longer than wheel {arc.wheel} is wide.")
        return abs(math.radians(deg)) / (2 * math.asin(pitch_mm / 2 / radius))

    def _index(self, wheel_index: int) -> int:
        return whole("wheel_index", wheel_index, at_least=0, at_most=len(self.wheels) - 1)


def _wheels(wheels: object) -> tuple[PathWheel, ...]:
    found = sequence("wheels", wheels)
    checked = tuple(wheel for wheel in found if isinstance(wheel, PathWheel))
    if len(checked) != len(found) or len(checked) < 2:
        refuse("wheels", found, "must hold at least two PathWheels.")
    return checked


def _headings_deg(wheels: tuple[PathWheel, ...], way: int) -> tuple[float, ...]:
    """Heading of each strand, clockwise from straight up, in a drawing mirrored to run clockwise.

    With signed radii s the strand from i to j makes the angle asin((s_i − s_j)/d) with the line
    of centres, for outer and for crossed tangents alike.
    """
    following = (*wheels[1:], wheels[0])
    return tuple(
        _heading_deg(a, b, way, i) for i, (a, b) in enumerate(zip(wheels, following, strict=True))
    )


def _heading_deg(wheel: PathWheel, following: PathWheel, way: int, index: int) -> float:
    across, up = way * (following.x_mm - wheel.x_mm), following.y_mm - wheel.y_mm
    apart = math.hypot(across, up)
    step = _signed_radius(wheel) - _signed_radius(following)
    if apart <= abs(step):
        refuse("wheels", (wheel, following),
               f"wheel {index} and the next are {apart:.4g} mm apart; a strand between them needs "
               f"more than {abs(step):.4g} mm.", "Set the centres further apart.")  # fmt: skip
    return math.degrees(math.atan2(across, up) + math.asin(step / apart))


def _arcs(
    wheels: tuple[PathWheel, ...], headings: tuple[float, ...], way: int
) -> tuple[WrapArc, ...]:
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


def _arc(wheel: PathWheel, index: int, comes_deg: float, goes_deg: float, way: int) -> WrapArc:
    back = -1 if wheel.back else 1
    wrap = turn_deg(back * (goes_deg - comes_deg))
    wrap = 0.0 if wrap > 360 - DUST_DEG else wrap
    start = turn_deg(way * (comes_deg - back * 90))
    return WrapArc(index, start, back * wrap, math.radians(wrap) * wheel.radius_mm)


def _spans(
    wheels: tuple[PathWheel, ...], headings: tuple[float, ...], way: int
) -> tuple[Span, ...]:
    following = (*wheels[1:], wheels[0])
    ends = (
        (_tangent(a, heading, way), _tangent(b, heading, way))
        for a, b, heading in zip(wheels, following, headings, strict=True)
    )
    return tuple(Span(start, end, math.dist(start, end)) for start, end in ends)


def _tangent(wheel: PathWheel, heading_deg: float, way: int) -> Point:
    return _rim(wheel, way * (heading_deg + (90 if wheel.back else -90)))


def _rim(wheel: PathWheel, at_deg: float) -> Point:
    at = math.radians(at_deg)
    return Point(
        wheel.x_mm + wheel.radius_mm * math.sin(at), wheel.y_mm + wheel.radius_mm * math.cos(at)
    )


def _signed_radius(wheel: PathWheel) -> float:
    return -wheel.radius_mm if wheel.back else wheel.radius_mm


def _begins(arcs: tuple[WrapArc, ...], spans: tuple[Span, ...]) -> tuple[float, ...]:
    begins = [0.0]
    for arc, span in zip(arcs[:-1], spans[:-1], strict=True):
        begins.append(begins[-1] + arc.length_mm + span.length_mm)
    return tuple(begins)


def _on_span(span: Span, distance_mm: float) -> Point:
    part = distance_mm / span.length_mm
    return Point(
        span.start.x_mm + part * (span.end.x_mm - span.start.x_mm),
        span.start.y_mm + part * (span.end.y_mm - span.start.y_mm),
    )


def _refuse_crossing(spans: tuple[Span, ...]) -> None:
    """Two strands that cross would rub: the loop is laid round the wheels in a wrong order."""
    for i, one in enumerate(spans):
        for j in range(i + 1, len(spans)):
            if _cross(one, spans[j]):
                refuse("wheels", (i, j), f"the strands after wheel {i} and wheel {j} cross.",
                       "Check the order, and which wheels touch the back.")  # fmt: skip


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
