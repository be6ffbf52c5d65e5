"""Teeth of two sprockets side by side."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Circle, Point, Polyline, Scene, Shape, at_clock
from quizsvc.figures.stills import sketching as sketch

TEETH = 18
RADIUS = 92.0
STEP = 360 / TEETH

# Part of the tooth's pitch and height over the root circle, going clockwise round one tooth.
_SOUND = ((-0.30, 0.0), (-0.20, 8.0), (-0.10, 20.0), (0.10, 20.0), (0.20, 8.0), (0.30, 0.0))
_HOOKED = ((-0.30, 0.0), (-0.10, 7.0), (0.16, 18.0), (0.30, 20.0), (0.20, 8.0), (0.36, 0.0))

ALT = (
    "Two sprockets, A and B. The teeth of A are the same on both flanks and end in a flat tip. The "
    "teeth of B are hollowed on one flank, thin, and all lean to the same side."
)


def draw() -> Scene:
    shapes = [*_sprocket((124, 190), _SOUND, "A"), *_sprocket((356, 190), _HOOKED, "B")]
    return Scene(parts.WIDTH, 330, tuple(shapes), ALT)


def _sprocket(centre: Point, tooth: tuple[tuple[float, float], ...], letter: str) -> list[Shape]:
    outline = [
        at_clock(centre, RADIUS + height, (number + part) * STEP)
        for number in range(TEETH)
        for part, height in tooth
    ]
    return [
        Polyline(tuple(outline), parts.EDGE, closed=True, name=f"sprocket {letter}"),
        Circle(centre, RADIUS - 14, parts.FINE),
        *parts.hub(centre, 30),
        sketch.title(letter, (centre[0], 40)),
    ]
