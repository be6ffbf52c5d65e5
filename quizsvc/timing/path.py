"""The path of a chain or belt over any number of wheels, inside or with its back.

Places in mm, x to the right and y up, seen from the chain end. Directions on wheels in degrees
clockwise from straight up. Radii are those of the pitch line; wraps are positive on wheels inside
the loop and negative on wheels that press from outside, so that they add up to 360.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from quizsvc.timing.quantity import number, refuse, sequence, turn_deg, whole
from quizsvc.timing.tangents import (
    DUST_DEG,
    PathWheel,
    Point,
    Span,
    WrapArc,
    arcs_of,
    headings_deg,
    point_on_rim,
    refuse_crossing,
    spans_of,
)

__all__ = ["DrivePath", "PathWheel", "Point", "Span", "WrapArc"]


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
        headings = headings_deg(wheels, self._way)
        arcs = arcs_of(wheels, headings, self._way)
        spans = spans_of(wheels, headings, self._way)
        refuse_crossing(spans)
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

    def tight_span(self, driver_index: int) -> int:
        """Index of the strand the driver pulls: the one that runs onto it.

        >>> pair = DrivePath((PathWheel(0, 0, 50), PathWheel(0, 300, 50)))
        >>> pair.tight_span(0), pair.slack_span(0)
        (1, 0)
        """
        return (self._index(driver_index, "driver_index") - 1) % len(self.wheels)

    def slack_span(self, driver_index: int) -> int:
        """Index of the strand that leaves the driver; a tensioner belongs there."""
        return self._index(driver_index, "driver_index")

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
        return self._past_start_deg(arc, number("at_deg", at_deg)) <= abs(arc.wrap_deg) + DUST_DEG

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
        return point_on_rim(wheel, arc.start_deg + turned)

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

    def _index(self, wheel_index: int, name: str = "wheel_index") -> int:
        return whole(name, wheel_index, at_least=0, at_most=len(self.wheels) - 1)


def _wheels(wheels: object) -> tuple[PathWheel, ...]:
    found = sequence("wheels", wheels)
    checked = tuple(wheel for wheel in found if isinstance(wheel, PathWheel))
    if len(checked) != len(found) or len(checked) < 2:
        refuse("wheels", found, "must hold at least two PathWheels.")
    return checked


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
