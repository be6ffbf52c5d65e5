"""A tensioner's plunger, seen through the inspection hole, at two services."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Ink, Polyline, Scene, Shape, Style
from quizsvc.figures.stills import sketching as sketch

BODY_END = 150.0

ALT = (
    "Two views of the same tensioner, A above and B below, its plunger reaching to the right "
    "against a guide. In A the plunger stands out a little and is smooth. In B it stands out twice "
    "as far, and a groove round it can be seen well clear of the body."
)


def draw() -> Scene:
    shapes = [*_tensioner(98, 92, groove=False), *_tensioner(262, 196, groove=True)]
    shapes += [sketch.title("A", (52, 50)), sketch.title("B", (52, 214))]
    return Scene(parts.WIDTH, 340, tuple(shapes), ALT)


def _tensioner(y: float, reach: float, *, groove: bool) -> list[Shape]:
    end = BODY_END + reach
    guide = sketch.bowed((end + 8, y - 62), (end + 8, y + 62), -8)
    band = (*guide, *((x + 14, at) for x, at in reversed(guide)))
    shapes: list[Shape] = [
        parts.rectangle(40, y - 34, BODY_END, y + 34, parts.EDGE, "body"),
        parts.rectangle(BODY_END, y - 20, end, y + 20, parts.EDGE, "plunger"),
        Polyline(band, sketch.RUBBER, closed=True, name="guide"),
    ]
    if groove:
        mark = Style(Ink.MARK, Ink.MARK)
        shapes.append(parts.rectangle(BODY_END + 46, y - 20, BODY_END + 53, y + 20, mark, "groove"))
    return shapes
