"""A shaft seal in its bore, fitted both ways round."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Anchor, Circle, Ink, Polyline, Scene, Shape, Style
from quizsvc.figures.stills import sketching as sketch

SHAFT = 262.0
OIL = Style(Ink.NONE, Ink.SHADE)

ALT = (
    "Two half sections, A and B, of a shaft seal in a cover, above a shaft; in both the open air "
    "is on the left and the engine's oil on the right. In A the lip with its ring spring points to "
    "the right, in B it points to the left."
)


def draw() -> Scene:
    shapes = [*_panel(124, 1), *_panel(358, -1)]
    shapes += [sketch.title("A", (124, 36)), sketch.title("B", (358, 36))]
    return Scene(parts.WIDTH, 340, tuple(shapes), ALT)


def _panel(x: float, way: int) -> list[Shape]:
    return [
        parts.rectangle(x + 34, 130, x + 104, SHAFT, OIL, "oil"),
        *sketch.cut(x - 34, 60, x + 34, 130, "cover"),
        parts.rectangle(x - 104, SHAFT, x + 104, 312, parts.EDGE, "shaft"),
        *_seal(x, way),
        sketch.word("air", (x - 100, 200), Anchor.START),
        sketch.word("oil", (x + 70, 200)),
        sketch.word("shaft", (x, 294)),
    ]


def _seal(x: float, way: int) -> list[Shape]:
    """Draw case, back wall and lip; ``way`` 1 turns the lip to the right."""
    case = ((-34, 130), (34, 130), (34, 150), (-20, 150), (-20, 214))
    lip = ((-10, 232), (14, 246), (20, SHAFT), (8, SHAFT), (-8, 250), (-34, 236))
    points = tuple((x + way * dx, y) for dx, y in (*case, *lip))
    return [
        Polyline(points, sketch.RUBBER, closed=True, name="seal"),
        Circle((x + way * 9, 235), 6, parts.EDGE, name="ring spring"),
    ]
