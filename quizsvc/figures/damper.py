"""A crankshaft damper from the front: its mark on the rim, the fixed pointer, the arc between."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Arc,
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
from quizsvc.timing.fasteners import damper_arc_mm

CENTRE: Point = (parts.WIDTH / 2, 224.0)
RADIUS = 126.0


@dataclass(frozen=True, slots=True)
class Damper:
    """The mark stands ``mark_deg`` from the pointer above, positive clockwise.

    ``asked``: "arc" (mm along the rim), "angle" or nothing.
    """

    diameter_mm: float
    mark_deg: float
    asked: str = ""
    note: str = ""


def describe(state: Damper) -> str:
    side = "right" if state.mark_deg >= 0 else "left"
    arc = "asked for" if state.asked == "arc" else f"{parts.plain(_arc_mm(state), 2)} mm"
    angle = "asked for" if state.asked == "angle" else f"{parts.plain(abs(state.mark_deg), 2)}°"
    note = f" {state.note}" if state.note else ""
    return (
        f"Crankshaft damper from the front, {state.diameter_mm:g} mm across, a fixed pointer above "
        f"it. The notch on its rim stands to the {side} of the pointer; angle at the centre "
        f"{angle}, arc along the rim {arc}.{note}"
    )


def draw(state: Damper, *, solution: bool = False) -> Scene:
    if not -170 <= state.mark_deg <= 170:
        raise InputError(
            "the mark is shown less than half a turn from the pointer.",
            field="mark_deg",
            value=state.mark_deg,
            remedy="Give −170 to 170.",
        )
    words, height = parts.caption(
        state.note or f"Damper from the front, {state.diameter_mm:g} mm in diameter.", 378
    )
    shapes = [*_damper(state), *_measures(state, solution=solution)]
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _arc_mm(state: Damper) -> float:
    return abs(damper_arc_mm(state.diameter_mm, state.mark_deg))


def _damper(state: Damper) -> list[Shape]:
    top = CENTRE[1] - RADIUS
    pointer = ((CENTRE[0], top - 4), (CENTRE[0] - 9, top - 30), (CENTRE[0] + 9, top - 30))
    ring = Style(Ink.LINE, Ink.SHADE, Weight.THIN)
    notch = (
        at_clock(CENTRE, RADIUS - 20, state.mark_deg),
        at_clock(CENTRE, RADIUS, state.mark_deg),
    )
    return [
        Circle(CENTRE, RADIUS, parts.EDGE, name="rim"),
        Circle(CENTRE, RADIUS * 0.78, ring),
        Circle(CENTRE, RADIUS * 0.72, parts.FINE_EDGE),
        *parts.hub(CENTRE, 30),
        Polyline(pointer, Style(Ink.LINE, Ink.LINE), closed=True, name="pointer"),
        Label((CENTRE[0], top - 40), "pointer", bold=True),
        Lines((notch,), Style(Ink.MARK, weight=Weight.THICK), name="mark"),
    ]


def _measures(state: Damper, *, solution: bool) -> list[Shape]:
    angle, angle_ink = parts.shown(
        f"{parts.plain(abs(state.mark_deg), 2)}°", asked=state.asked == "angle", solution=solution
    )
    arc, arc_ink = parts.shown(
        f"{parts.plain(_arc_mm(state), 2)} mm", asked=state.asked == "arc", solution=solution
    )
    x, y = at_clock(CENTRE, RADIUS * 0.52, state.mark_deg / 2)
    rays = tuple((at_clock(CENTRE, 32, d), at_clock(CENTRE, RADIUS * 0.7, d))
                 for d in (0, state.mark_deg))  # fmt: skip
    return [
        Lines(rays, parts.DIMENSION),
        Arc(CENTRE, RADIUS * 0.66, 0, state.mark_deg, parts.DIMENSION, name="angle"),
        Label((x, y + 6), angle, ink=angle_ink, bold=True, halo=True, name="angle value"),
        Arc(CENTRE, RADIUS + 7, 0, state.mark_deg, Style(arc_ink), name="arc"),
        *_arc_word(state, arc, arc_ink),
    ]


def _arc_word(state: Damper, text: str, ink: Ink) -> list[Shape]:
    """Write the arc's length beyond it, clear of the pointer above."""
    deg = state.mark_deg / 2
    if abs(deg) < 22:
        deg = 22 if deg >= 0 else -22
    mark = parts.angle_mark(CENTRE, RADIUS + 7, deg, 0, text, ink, name="arc")
    return mark[1:]
