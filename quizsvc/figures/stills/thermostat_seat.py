"""A thermostat's flange in its upright housing, with four places for the small air hole."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Arrow, Circle, Point, Polyline, Scene, Shape
from quizsvc.figures.stills import sketching as sketch

CENTRE: Point = (214.0, 206.0)


ALT = (
    "A thermostat seen straight on, as it stands upright in its housing on the engine: a round "
    "flange with the valve plate in its middle and a hose neck on the right. An arrow beside it "
    "points upwards."
)


def draw() -> Scene:
    x, y = CENTRE
    ear = ((x - 150, y - 26), (x - 112, y - 60), (x - 112, y + 60), (x - 150, y + 26))
    neck = ((x + 112, y - 44), (x + 190, y - 36), (x + 190, y + 36), (x + 112, y + 44))
    shapes: list[Shape] = [
        Polyline(ear, parts.EDGE, closed=True, name="ear"),
        Polyline(neck, parts.EDGE, closed=True, name="hose neck"),
        Circle(CENTRE, 132, parts.EDGE, name="housing"),
        Circle(CENTRE, 114, parts.FINE_EDGE, name="flange"),
        Circle(CENTRE, 74, parts.EDGE, name="valve"),
        Circle(CENTRE, 52, parts.FINE, name="valve plate"),
        Polyline(((x - 74, y), (x - 14, y), (x + 14, y), (x + 74, y)), parts.FINE),
        Circle(CENTRE, 14, parts.EDGE),
        Circle((x - 132, y), 7, parts.FINE_EDGE),
        Arrow((446, 330), (446, 250), parts.OPEN_EDGE, name="up"),
        sketch.word("up", (446, 240)),
        sketch.word("hose", (x + 166, y + 6)),
    ]
    return Scene(parts.WIDTH, 370, tuple(shapes), ALT)
