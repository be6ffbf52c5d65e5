"""A belt tensioner's pointer over a scale with one mark for new and one for run-in belts."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Arc,
    Circle,
    Ink,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)
from quizsvc.figures.stills import sketching as sketch

CENTRE = (230.0, 250.0)
SCALE, ARM = 150.0, 138.0
NEW_DEG, RUN_IN_DEG = 28.0, -4.0

ALT = (
    "A belt tensioner from the front: a roller with the belt under it, and an arm whose pointer "
    "moves over a scale. The scale has two marks, RUN IN on the left and NEW on the right; an "
    "arrow beside it says that further right is tighter. The pointer stands at NEW."
)


def draw() -> Scene:
    shapes = [*_roller(), *_scale(), *_arm()]
    return Scene(parts.WIDTH, 390, tuple(shapes), ALT)


def _roller() -> list[Shape]:
    belt = [(20, 300), *sketch.around(CENTRE, 64, 220, 140), (460, 300)]
    return [
        Circle(CENTRE, 60, parts.EDGE, name="roller"),
        *parts.hub(CENTRE, 26),
        Polyline(tuple(belt), Style(Ink.LINE, weight=Weight.THICK), name="belt"),
        sketch.word("belt", (52, 340)),
    ]


def _scale() -> list[Shape]:
    tight = parts.turning_arrow(CENTRE, SCALE + 64, 8, 26, parts.FINE)
    return [
        Arc(CENTRE, SCALE, -40, 90, parts.FINE),
        *(_tick(deg) for deg in range(-40, 51, 6)),
        *_window(RUN_IN_DEG, "RUN IN", -34),
        *_window(NEW_DEG, "NEW", 12),
        *tight,
        sketch.word("tighter", (384, 56)),
    ]


def _tick(deg: float) -> Shape:
    ends = (at_clock(CENTRE, SCALE, deg), at_clock(CENTRE, SCALE + 6, deg))
    return Lines((ends,), parts.FINE)


def _window(deg: float, text: str, shift: float) -> list[Shape]:
    outer = sketch.around(CENTRE, SCALE + 16, deg - 4, deg + 4)
    inner = sketch.around(CENTRE, SCALE, deg + 4, deg - 4)
    x, y = at_clock(CENTRE, SCALE + 28, deg)
    return [
        Polyline((*outer, *inner), parts.MARKING, closed=True, name=f"window {text}"),
        sketch.word(text, (x + shift, y)),
    ]


def _arm() -> list[Shape]:
    tip = at_clock(CENTRE, ARM + 8, NEW_DEG)
    left, right = at_clock(CENTRE, 66, NEW_DEG - 7), at_clock(CENTRE, 66, NEW_DEG + 7)
    return [Polyline((left, tip, right), parts.EDGE, closed=True, name="pointer")]
