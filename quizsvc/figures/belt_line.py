"""How a toothed belt lies on its path: a flat back outside, teeth a pitch apart inside.

Distances along the path in mm, places in the path's own millimetres, x to the right and y up. A
belt keeps its length along the pitch line, where its cords run; its pitch is an arc on a wheel.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, degrees, hypot, radians, sin

from quizsvc.figures import parts
from quizsvc.figures.chain_line import Sight
from quizsvc.figures.scene import Ink, Point, Polyline, Shape, Style, Weight
from quizsvc.timing.path import DrivePath

# In pitches from the pitch line: how thick the back is, where the land between two teeth lies,
# and how deep the teeth reach; stouter than on a real belt, so that they can be counted.
BACK, LAND, TIP = 0.16, 0.14, 0.5
_TOOTH = ((-0.3, LAND), (-0.22, TIP), (0.22, TIP), (0.3, LAND))  # (part of the pitch, depth)
_GROOVE = ((-0.34, LAND + 0.03), (-0.25, TIP + 0.08), (0.25, TIP + 0.08), (0.34, LAND + 0.03))
_BACK_POINTS = 2  # a pitch: on the smallest pulley the chord between them sags by 0.05 mm

BODY = Style(Ink.NONE, Ink.SHADE)
SOLID_TOOTH = Style(Ink.LINE, Ink.LINE, Weight.THIN)
MARKED_TOOTH = Style(Ink.MARK, Ink.MARK, Weight.MEDIUM)


def offset_at(path: DrivePath, distance_mm: float, inwards_mm: float) -> Point:
    """Return the place beside the path, so far towards the inside of the loop.

    >>> from quizsvc.timing.path import PathWheel
    >>> pair = DrivePath((PathWheel(0, 0, 50), PathWheel(0, 300, 50)))
    >>> [round(place) for place in offset_at(pair, pair.distance_of(1, 270), 10)]
    [-40, 300]
    """
    way = 1 if path.clockwise else -1
    left = distance_mm % path.length_mm
    for arc, span in zip(path.arcs, path.spans, strict=True):
        if left <= arc.length_mm:
            wheel = path.wheels[arc.wheel]
            turn = -way if wheel.back else way
            at = radians(arc.start_deg + turn * degrees(left / wheel.radius_mm))
            reach = wheel.radius_mm + (inwards_mm if wheel.back else -inwards_mm)
            return wheel.x_mm + reach * sin(at), wheel.y_mm + reach * cos(at)
        left -= arc.length_mm
        if left <= span.length_mm:
            break
        left -= span.length_mm
    dx, dy = span.end.x_mm - span.start.x_mm, span.end.y_mm - span.start.y_mm
    length = hypot(dx, dy)
    along, across = left / length, way * inwards_mm / length
    return span.start.x_mm + along * dx + across * dy, span.start.y_mm + along * dy - across * dx


def tooth_points(path: DrivePath, pitch: float, at_pitches: float) -> list[Point]:
    """Return the corners of the tooth that stands so many pitches along the path."""
    return [offset_at(path, (at_pitches + part) * pitch, depth * pitch) for part, depth in _TOOTH]


def belt_shapes(
    path: DrivePath, sight: Sight, pitch: float, first: float, count: int
) -> list[Shape]:
    """Return a whole belt: its body, its flat back and the line of its teeth."""
    back = [sight.at(place) for place in _back(path, pitch, count)]
    inside = [
        sight.at(place)
        for tooth in range(count)
        for place in tooth_points(path, pitch, first + tooth)
    ]
    ring = (*back, back[0], inside[0], *reversed(inside))
    return [
        Polyline(ring, BODY, closed=True, name="belt body"),
        Polyline(tuple(back), Style(Ink.LINE, weight=Weight.MEDIUM), closed=True, name="belt back"),
        Polyline(tuple(inside), parts.FINE, closed=True, name="belt teeth"),
    ]


def tooth_shape(
    path: DrivePath, sight: Sight, pitch: float, at_pitches: float, style: Style, name: str
) -> Polyline:
    """Return one tooth by itself."""
    corners = tooth_points(path, pitch, at_pitches)
    return Polyline(tuple(sight.at(place) for place in corners), style, closed=True, name=name)


def back_line(
    path: DrivePath, sight: Sight, pitch: float, at_pitches: float, style: Style
) -> Polyline:
    """Return the line on the back at a marked tooth, standing out a little to be seen."""
    ends = (offset_at(path, at_pitches * pitch, depth * pitch) for depth in (LAND, -2.6 * BACK))
    return Polyline(tuple(sight.at(place) for place in ends), style, name="belt line")


def grooved(
    centre: Point, teeth: int, pitch: float, radius: float, seat_deg: float, name: str
) -> Polyline:
    """Return a toothed pulley's outline with a groove for a belt tooth at ``seat_deg``.

    ``pitch`` and ``radius``, to the pitch line, in picture units.
    """
    step = 360 / teeth
    x, y = centre
    points = []
    for tooth in range(teeth):
        for part, depth in _GROOVE:
            angle, reach = radians(seat_deg + (tooth + part) * step), radius - depth * pitch
            points.append((x + reach * sin(angle), y - reach * cos(angle)))
    return Polyline(tuple(points), parts.FINE_EDGE, closed=True, name=name)


def plain_radius(radius: float, pitch: float, *, back: bool) -> float:
    """Return how large a plain roller is drawn whose belt has its pitch line at ``radius``."""
    return max(3.0, radius - (BACK if back else TIP) * pitch)


def _back(path: DrivePath, pitch: float, count: int) -> Iterator[Point]:
    for step in range(count * _BACK_POINTS):
        yield offset_at(path, step * pitch / _BACK_POINTS, -BACK * pitch)
