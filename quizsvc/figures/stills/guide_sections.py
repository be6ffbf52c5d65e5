"""Three chain guides cut across: how the chain's plates have worn their shoes."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Ink, Lines, Point, Polyline, Scene, Shape, Style
from quizsvc.figures.stills import sketching as sketch

FACE, CARRIER, FOOT = 120.0, 196.0, 230.0
HALF = 56.0

ALT = (
    "Cross sections of three chain guides, A, B and C, each a plastic shoe on a steel carrier, "
    "with a dashed line where the shoe's face was when new. A has two shallow tracks of equal "
    "depth. B has one deep track on the right and hardly any on the left. In C two tracks have "
    "reached the carrier."
)


def draw() -> Scene:
    shapes: list[Shape] = []
    for letter, x, left, right in (("A", 84, 9, 9), ("B", 240, 2, 40), ("C", 396, 76, 76)):
        shapes += [*_guide(x, left, right), sketch.title(letter, (x, 40))]
    shapes += [sketch.word("shoe", (240, 268)), sketch.word("carrier", (240, 300))]
    shapes += [sketch.lead((240, 254), (232, 178)), sketch.lead((266, 292), (290, 224))]
    return Scene(parts.WIDTH, 320, tuple(shapes), ALT)


def _guide(x: float, left: float, right: float) -> list[Shape]:
    face = [
        (x - HALF, FACE),
        *_track(x - 28, left),
        *_track(x + 28, right),
        (x + HALF, FACE),
        (x + HALF, CARRIER),
        (x - HALF, CARRIER),
    ]
    return [
        Polyline(tuple(face), sketch.RUBBER, closed=True, name="shoe"),
        *sketch.cut(x - HALF, CARRIER, x + HALF, FOOT, "carrier"),
        Lines((((x - HALF - 8, FACE), (x + HALF + 8, FACE)),), parts.HIDDEN, name="new face"),
        *(_plate(x + side, FACE + depth) for side, depth in ((-28, left), (28, right))),
    ]


def _track(x: float, depth: float) -> list[Point]:
    return [(x - 8, FACE), (x - 7, FACE + depth), (x + 7, FACE + depth), (x + 8, FACE)]


def _plate(x: float, foot: float) -> Shape:
    """Draw the edge of a chain plate that stands in its track."""
    style = Style(Ink.LINE, Ink.METAL, parts.FINE.weight)
    return parts.rectangle(x - 5, foot - 52, x + 5, foot, style, "chain plate")
