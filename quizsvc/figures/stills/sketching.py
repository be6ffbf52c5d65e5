"""Strokes that several stills share: lettered plates, springs, curves, hatched cuts."""

from __future__ import annotations

from math import cos, pi, sin

from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Circle,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Shape,
    Style,
    Weight,
)

PLATE = Style(Ink.LINE, Ink.PAPER)
RUBBER = Style(Ink.LINE, Ink.SHADE, Weight.THIN)
COOLANT = Style(Ink.COOL, Ink.NONE)
WET = Style(Ink.COOL, Ink.COOL, Weight.THIN)


def plate(letter: str, at: Point) -> list[Shape]:
    """Return a letter on a round plate, as on the parts of an exploded drawing."""
    return [
        Circle(at, 13, PLATE, name=f"plate {letter}"),
        Label((at[0], at[1] + 6), letter, 16, bold=True, name=f"letter {letter}"),
    ]


def lead(start: Point, end: Point) -> Shape:
    """Return a fine leader from a plate to the part that it names."""
    return Lines(((start, end),), parts.FINE)


def word(text: str, at: Point, anchor: Anchor = Anchor.MIDDLE, ink: Ink = Ink.LINE) -> Label:
    return Label(at, text, 16, anchor, ink, halo=True)


def title(letter: str, at: Point) -> Label:
    """Return the large letter over one of several panels."""
    return Label(at, letter, 22, bold=True, name=f"panel {letter}")


def spring(start: Point, length: float, half: float, turns: int, *, down: bool = False) -> Polyline:
    """Return a coil spring in section as a zigzag, to the right or downwards from ``start``."""
    x, y = start
    points: list[Point] = [start]
    for turn in range(turns * 2):
        along = length * (turn + 0.5) / (turns * 2)
        side = half if turn % 2 else -half
        points.append((x + side, y + along) if down else (x + along, y + side))
    points.append((x, y + length) if down else (x + length, y))
    return Polyline(tuple(points), Style(Ink.LINE), name="spring")


def cut(left: float, top: float, right: float, bottom: float, name: str = "") -> list[Shape]:
    """Return a cut wall: outlined and hatched."""
    return [
        parts.rectangle(left, top, right, bottom, parts.FINE_EDGE, name),
        parts.hatched(left, top, right, bottom),
        parts.rectangle(left, top, right, bottom, parts.OPEN_EDGE),
    ]


def bowed(start: Point, end: Point, bow: float, steps: int = 24) -> list[Point]:
    """Return a strand from ``start`` to ``end`` that bows sideways by ``bow`` in its middle.

    The bow is positive to the left of the way from start to end as seen on the picture; both ends
    leave in the direction of the straight line.
    """
    (x0, y0), (x1, y1) = start, end
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    nx, ny = (y1 - y0) / length, -(x1 - x0) / length
    return [
        (
            x0 + (x1 - x0) * part + nx * bow * sin(pi * part) ** 2,
            y0 + (y1 - y0) * part + ny * bow * sin(pi * part) ** 2,
        )
        for part in (step / steps for step in range(steps + 1))
    ]


def around(centre: Point, radius: float, start_deg: float, end_deg: float) -> list[Point]:
    """Return points on an arc, angles clockwise from straight up."""
    steps = max(2, round(abs(end_deg - start_deg) / 6))
    turns = [start_deg + (end_deg - start_deg) * step / steps for step in range(steps + 1)]
    return [
        (centre[0] + radius * sin(deg * pi / 180), centre[1] - radius * cos(deg * pi / 180))
        for deg in turns
    ]
