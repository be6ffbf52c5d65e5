"""A bolt head with its paint mark over a degree ring: tightening by angle."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Circle,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)

CENTRE: Point = (parts.WIDTH / 2, 176.0)
HEAD = 74.0
RING = 118.0


@dataclass(frozen=True, slots=True)
class AngleGauge:
    """The mark stands at ``start_deg`` when the torque is reached, clockwise from straight up.

    ``stages_deg`` are the tightening angles that follow; ``asked``: "mark" or nothing. Where the
    mark ends is drawn with the solution.
    """

    start_deg: float
    stages_deg: tuple[float, ...]
    torque: str = ""
    asked: str = "mark"
    note: str = ""


def describe(state: AngleGauge) -> str:
    stages = " and ".join(f"{parts.plain(deg)}°" for deg in state.stages_deg)
    torque = f" It was first tightened to {state.torque}." if state.torque else ""
    asked = " Asked: where the mark stands then." if state.asked else ""
    note = f" {state.note}" if state.note else ""
    return (
        "Hexagon bolt head from above inside a degree ring, 0 at the top, clockwise. A paint mark "
        f"stands at {parts.plain(state.start_deg % 360)}°.{torque} It is to be turned on "
        f"clockwise by {stages}.{asked}{note}"
    )


def draw(state: AngleGauge, *, solution: bool = False) -> Scene:
    shapes: list[Shape] = [*_ring(), *_head(state)]
    if solution:
        shapes += _turned(state)
    first = f"Torque {state.torque}, then turn" if state.torque else "Turn"
    stages = " + ".join(f"{parts.plain(deg)}°" for deg in state.stages_deg)
    words, height = parts.caption(state.note or f"{first} on clockwise by {stages}.", 338)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _ring() -> list[Shape]:
    ticks = tuple(
        (at_clock(CENTRE, RING, deg), at_clock(CENTRE, RING + (12 if deg % 30 == 0 else 6), deg))
        for deg in range(0, 360, 10)
    )
    words = [
        Label((x, y + 6), f"{deg}°", ink=Ink.FAINT)
        for deg in (0, 90, 180, 270)
        for x, y in [at_clock(CENTRE, RING + (24 if deg % 180 == 0 else 36), deg)]
    ]
    return [Circle(CENTRE, RING, parts.FINE), Lines(ticks, parts.FINE), *words]


def _head(state: AngleGauge) -> list[Shape]:
    corners = tuple(at_clock(CENTRE, HEAD, state.start_deg + 30 + 60 * n) for n in range(6))
    mark = (at_clock(CENTRE, 20, state.start_deg), at_clock(CENTRE, HEAD * 0.84, state.start_deg))
    return [
        Circle(CENTRE, HEAD + 14, parts.FINE_EDGE),
        Polyline(corners, parts.EDGE, closed=True, name="bolt head"),
        Circle(CENTRE, HEAD * 0.8, parts.FINE),
        Lines((mark,), Style(Ink.MARK, weight=Weight.THICK), name="mark"),
    ]


def _turned(state: AngleGauge) -> list[Shape]:
    shapes: list[Shape] = []
    ends = list(accumulate(state.stages_deg, initial=state.start_deg))
    for number, (start, sweep) in enumerate(zip(ends[:-1], state.stages_deg, strict=True)):
        radius = HEAD + 22 + 9 * number
        shapes += parts.turning_arrow(CENTRE, radius, start, sweep, Style(Ink.SOLUTION))
    last = (at_clock(CENTRE, 20, ends[-1]), at_clock(CENTRE, HEAD * 0.84, ends[-1]))
    text = f"mark at {parts.plain(ends[-1] % 360)}°"
    return [
        *shapes,
        Lines((last,), Style(Ink.SOLUTION, weight=Weight.THICK), name="mark turned"),
        Label((parts.MARGIN + 70, 30), text, ink=Ink.SOLUTION, bold=True, name="final"),
    ]
