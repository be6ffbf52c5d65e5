"""Where the pins of a chain stand on its path, and how the chain is drawn.

On a sprocket the pins stand on a polygon, a tooth apart; on a free strand a pitch apart.
Places are in the path's own millimetres, x to the right and y up; `Sight` brings them onto the
picture.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import asin, cos, degrees, radians, sin

from quizsvc.figures.scene import Arc, Lines, Point, Shape, Style
from quizsvc.timing.path import DrivePath


@dataclass(frozen=True, slots=True)
class Sight:
    """How millimetres become picture units: scale, and where the origin stands."""

    scale: float
    x: float
    y: float

    def at(self, place: Point) -> Point:
        return self.x + self.scale * place[0], self.y - self.scale * place[1]


def pin_places(
    path: DrivePath, pitch: float, first: float, count: int, step: float = 1.0
) -> list[Point]:
    """Return ``count`` pins in running direction, ``first`` pitches after wheel 0 meets the chain.

    They stand ``step`` pitches apart.

    >>> from quizsvc.timing.path import PathWheel
    >>> pair = DrivePath((PathWheel(0, 0, 50), PathWheel(0, 300, 50)))
    >>> [(round(x), round(y)) for x, y in pin_places(pair, 50, pair.pitches_to(1, 270, 50), 2)]
    [(-50, 300), (-25, 343)]
    """
    stretches = list(_stretches(path, pitch))
    total = stretches[-1][1]
    places: list[Point] = []
    number, pin = 0, first % total
    while stretches[number][1] < pin:
        number += 1
    for _ in range(count):
        begin, end, stretch = stretches[number]
        while pin > end:
            number += 1
            if number == len(stretches):
                number, pin = 0, pin - total
            begin, end, stretch = stretches[number]
        places.append(stretch.at(pin - begin))
        pin += step
    return places


@dataclass(frozen=True, slots=True)
class _OnWheel:
    x: float
    y: float
    radius: float
    start: float  # radians clockwise from straight up
    step: float  # radians a pitch, clockwise

    def at(self, pitches: float) -> Point:
        turn = self.start + self.step * pitches
        return self.x + self.radius * sin(turn), self.y + self.radius * cos(turn)


@dataclass(frozen=True, slots=True)
class _OnStrand:
    x: float
    y: float
    dx: float
    dy: float

    def at(self, pitches: float) -> Point:
        return self.x + self.dx * pitches, self.y + self.dy * pitches


def _stretches(
    path: DrivePath, pitch: float
) -> Iterator[tuple[float, float, _OnWheel | _OnStrand]]:
    """Walk the loop: where each stretch begins and ends in pitches, and how it runs."""
    begin = 0.0
    way = 1 if path.clockwise else -1
    for arc, span in zip(path.arcs, path.spans, strict=True):
        wheel = path.wheels[arc.wheel]
        step = 2 * asin(pitch / 2 / wheel.radius_mm)
        end = begin + radians(abs(arc.wrap_deg)) / step
        turn = -way * step if wheel.back else way * step
        yield (
            begin,
            end,
            _OnWheel(wheel.x_mm, wheel.y_mm, wheel.radius_mm, radians(arc.start_deg), turn),
        )
        begin, end = end, end + span.length_mm / pitch
        dx = (span.end.x_mm - span.start.x_mm) * pitch / span.length_mm
        dy = (span.end.y_mm - span.start.y_mm) * pitch / span.length_mm
        yield begin, end, _OnStrand(span.start.x_mm, span.start.y_mm, dx, dy)
        begin = end


def seat_radius(teeth: int) -> float:
    """Return the pitch radius in pitches: 1 / (2 sin(π/N)).

    >>> round(seat_radius(6), 9)
    1.0
    """
    return 0.5 / sin(radians(180 / teeth))


def tooth_step_deg(radius: float, pitch: float) -> float:
    """Return the angle between neighbouring pins on a wheel of this pitch radius."""
    return degrees(2 * asin(pitch / 2 / radius))


def strand_shapes(path: DrivePath, sight: Sight, style: Style, name: str) -> list[Shape]:
    """Return the line of a belt: an arc on each wheel and a straight strand after it."""
    way = 1 if path.clockwise else -1
    shapes: list[Shape] = []
    for arc in path.arcs:
        wheel = path.wheels[arc.wheel]
        centre = sight.at((wheel.x_mm, wheel.y_mm))
        radius = wheel.radius_mm * sight.scale
        shapes.append(Arc(centre, radius, arc.start_deg, way * arc.wrap_deg, style, name=name))
    strands = tuple((sight.at(span.start), sight.at(span.end)) for span in path.spans)
    return [*shapes, Lines(strands, style, name=name)]


def fitted(
    places: Sequence[tuple[float, float, float]], box: tuple[float, float, float, float]
) -> Sight:
    """Return the sight that brings circles (x, y, radius) to the top of a box, in the middle.

    The box is left, top, right, bottom.
    """
    left = min(x - r for x, _, r in places)
    right = max(x + r for x, _, r in places)
    low = min(y - r for _, y, r in places)
    high = max(y + r for _, y, r in places)
    scale = min((box[2] - box[0]) / (right - left), (box[3] - box[1]) / (high - low))
    x = (box[0] + box[2]) / 2 - scale * (left + right) / 2
    return Sight(scale, x, box[1] + scale * high)
