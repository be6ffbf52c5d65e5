"""Crank and cam traces over one another, with where the cam's edge should be."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Anchor, Ink, Lines, Point, Polyline, Scene, Shape, Style, Weight
from quizsvc.figures.stills import sketching as sketch

LEFT, TOOTH = 40.0, 34.0
TEETH = 12
STATED_TOOTH, SEEN_TOOTH = 4, 6  # teeth after the first, at whose rise the cam's edge falls
CRANK_HIGH, CRANK_LOW = 70.0, 120.0
CAM_HIGH, CAM_LOW = 190.0, 240.0

ALT = (
    "Two traces over the same time. The upper one, crank, is a row of twelve equal square teeth, "
    "each 10 degrees of crank from the last. The lower one, cam, rises once from low to high at "
    "the rising edge of the seventh tooth. A dashed line labelled stated stands at the rising edge "
    "of the fifth tooth."
)


def draw() -> Scene:
    shapes = [*_crank(), *_cam(), *_stated()]
    return Scene(parts.WIDTH, 320, tuple(shapes), ALT)


def _rise(tooth: int) -> float:
    return LEFT + tooth * TOOTH


def _crank() -> list[Shape]:
    points: list[Point] = []
    for tooth in range(TEETH):
        x = _rise(tooth)
        points += [(x, CRANK_LOW), (x, CRANK_HIGH), (x + TOOTH / 2, CRANK_HIGH)]
        points += [(x + TOOTH / 2, CRANK_LOW)]
    points.append((_rise(TEETH), CRANK_LOW))
    return [
        Polyline(tuple(points), Style(Ink.LINE), name="crank trace"),
        sketch.word("crank: 10° from tooth to tooth", (LEFT, 50), Anchor.START),
    ]


def _cam() -> list[Shape]:
    x = _rise(SEEN_TOOTH)
    points = ((LEFT, CAM_LOW), (x, CAM_LOW), (x, CAM_HIGH), (_rise(TEETH), CAM_HIGH))
    return [
        Polyline(points, Style(Ink.LINE, weight=Weight.THICK), name="cam trace"),
        sketch.word("cam, as measured", (_rise(TEETH), 220), Anchor.END),
        Lines((((x, CRANK_LOW), (x, CAM_HIGH)),), parts.DIMENSION),
    ]


def _stated() -> list[Shape]:
    x = _rise(STATED_TOOTH)
    return [
        Lines((((x, CRANK_LOW), (x, 290)),), Style(Ink.ACCENT, dash=parts.HIDDEN.dash)),
        sketch.word("stated", (x, 308), Anchor.MIDDLE, Ink.ACCENT),
    ]
