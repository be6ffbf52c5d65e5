"""A cam lobe that holds a valve half open, seen from the chain end."""

from __future__ import annotations

from math import cos, radians, sin

from quizsvc.figures import parts
from quizsvc.figures.scene import Point, Polyline, Scene, Shape
from quizsvc.figures.stills import sketching as sketch

CAM: Point = (232.0, 74.0)
BASE, NOSE, NOSE_REACH = 44.0, 18.0, 62.0
NOSE_DEG = 132.0  # clockwise from straight up

ALT = (
    "A cam lobe over a bucket tappet, seen from the chain end. The lobe's nose points to the lower "
    "right and touches the tappet to the right of the shaft's centre. Under the tappet a valve "
    "spring is pressed together, and the valve is pushed down. The chain is off, nothing holds "
    "the shaft."
)


def draw() -> Scene:
    top = _lowest()
    shapes = [*_valve(top), *_tappet(top), *_lobe()]
    shapes += [sketch.word("valve spring", (372, top + 96)), sketch.word("tappet", (352, top + 22))]
    return Scene(parts.WIDTH, 404, tuple(shapes), ALT)


def _outline() -> list[Point]:
    """Return base circle and nose joined by straight flanks."""
    nose = (
        CAM[0] + NOSE_REACH * sin(radians(NOSE_DEG)),
        CAM[1] - NOSE_REACH * cos(radians(NOSE_DEG)),
    )
    # The common tangents of two circles leave them at right angles less this lean.
    lean = 90 - 24.8
    return [
        *sketch.around(CAM, BASE, NOSE_DEG + lean, NOSE_DEG + 360 - lean),
        *sketch.around(nose, NOSE, NOSE_DEG - lean, NOSE_DEG + lean),
    ]


def _lowest() -> float:
    return max(y for _, y in _outline()) + 1.5


def _lobe() -> list[Shape]:
    return [
        Polyline(tuple(_outline()), parts.EDGE, closed=True, name="lobe"),
        *parts.hub(CAM, 18),
    ]


def _tappet(top: float) -> list[Shape]:
    left, right = CAM[0] - 72, CAM[0] + 72
    points = (
        *((left, top), (right, top), (right, top + 60), (right - 12, top + 60)),
        *((right - 12, top + 14), (left + 12, top + 14), (left + 12, top + 60), (left, top + 60)),
    )
    return [Polyline(points, parts.EDGE, closed=True, name="tappet")]


def _valve(top: float) -> list[Shape]:
    x, seat = CAM[0], top + 176
    head = seat + 34
    return [
        *sketch.cut(x - 96, seat - 24, x - 34, seat, "head casting"),
        *sketch.cut(x + 34, seat - 24, x + 96, seat, "head casting"),
        sketch.spring((x - 34, top + 24), seat - top - 50, 14, 5, down=True),
        sketch.spring((x + 34, top + 24), seat - top - 50, 14, 5, down=True),
        parts.rectangle(x - 7, top + 14, x + 7, head, parts.EDGE, "valve stem"),
        Polyline(
            ((x - 7, head - 14), (x + 7, head - 14), (x + 50, head + 10), (x - 50, head + 10)),
            parts.EDGE,
            closed=True,
            name="valve head",
        ),
    ]
