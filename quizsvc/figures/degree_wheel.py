"""A degree wheel on the crankshaft with the two readings of a positive stop."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.lettering import text_width
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
from quizsvc.timing.crank import wheel_error_deg

CENTRE: Point = (parts.WIDTH / 2, 206.0)
RADIUS = 128.0


@dataclass(frozen=True, slots=True)
class DegreeWheel:
    """Readings at the stop, the first before and the second after the wheel's zero.

    ``asked``: "error" or nothing; true TDC is drawn with the solution.
    """

    before_deg: float
    after_deg: float
    asked: str = "error"
    note: str = ""


def describe(state: DegreeWheel) -> str:
    asked = " Asked: by how much the wheel is off." if state.asked else ""
    note = f" {state.note}" if state.note else ""
    return (
        "Degree wheel, counted from 0 at the top to 180 either way. The piston meets the stop at "
        f"{parts.plain(state.before_deg, 2)}° before zero, and turning the other way at "
        f"{parts.plain(state.after_deg, 2)}° after zero.{asked}{note}"
    )


def draw(state: DegreeWheel, *, solution: bool = False) -> Scene:
    for name, value in (("before_deg", state.before_deg), ("after_deg", state.after_deg)):
        if not 0 < value < 180:
            raise InputError(
                "a stop reading lies between zero and 180.",
                field=name,
                value=value,
                remedy="Read the wheel from its zero.",
            )
    shapes: list[Shape] = [*_wheel(), *_stops(state)]
    if solution:
        shapes += _true_tdc(state)
    words, height = parts.caption(
        state.note or "The piston meets the stop at both marked readings.", 376
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _wheel() -> list[Shape]:
    fine = tuple(
        (
            at_clock(CENTRE, RADIUS - (12 if deg % 10 == 0 else 7), deg),
            at_clock(CENTRE, RADIUS, deg),
        )
        for deg in range(0, 360, 5)
    )
    words = [
        Label((x, y + 6), str(deg if deg <= 180 else 360 - deg))
        for deg in range(0, 360, 30)
        for x, y in [at_clock(CENTRE, RADIUS - 28, deg)]
    ]
    return [
        Circle(CENTRE, RADIUS, parts.FINE_EDGE, name="wheel"),
        Lines(fine, parts.FINE, name="ticks"),
        *words,
        *parts.hub(CENTRE, 24),
    ]


def _stops(state: DegreeWheel) -> list[Shape]:
    shapes: list[Shape] = []
    stops = ((-state.before_deg, "before"), (state.after_deg, "after"))
    for deg, side in stops:
        wedge = tuple(
            at_clock(CENTRE, RADIUS + out, deg + turn) for out, turn in ((2, 0), (20, 3), (20, -3))
        )
        value = f"{parts.plain(abs(deg), 2)}°"
        half = text_width(value, parts.TEXT, bold=True) / 2
        x, y = at_clock(CENTRE, RADIUS + 34, deg)
        x += half if deg > 0 else -half
        x = min(max(x, half + 6), parts.WIDTH - half - 6)
        shapes += [
            Polyline(wedge, parts.MARKING, closed=True, name=f"stop {side}"),
            Label((x, y + 6), value, ink=Ink.MARK, bold=True, name=f"value {side}"),
        ]
    return shapes


def _true_tdc(state: DegreeWheel) -> list[Shape]:
    """True TDC lies halfway between the stops: that much off the wheel's zero."""
    deg = (state.after_deg - state.before_deg) / 2
    error = wheel_error_deg(state.before_deg, state.after_deg)
    side = "before" if error > 0 else "after"
    text = f"true TDC {parts.plain(abs(error), 2)}° {side} zero" if error else "true TDC at zero"
    ray = (at_clock(CENTRE, 26, deg), at_clock(CENTRE, RADIUS + 22, deg))
    return [
        Lines((ray,), Style(Ink.SOLUTION, weight=Weight.MEDIUM), name="true TDC"),
        Label((CENTRE[0], 30), text, ink=Ink.SOLUTION, bold=True, halo=True, name="true TDC"),
    ]
