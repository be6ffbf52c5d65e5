"""A flat cover with eight numbered bolts."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Circle, Label, Polyline, Scene, Shape
from quizsvc.figures.stills import sketching as sketch

ALT = (
    "A long flat cover from above with eight bolts in two rows of four. The upper row is numbered "
    "1 to 4 from left to right, the lower row 5 to 8 from left to right."
)


def draw() -> Scene:
    outline = (*((26, 50), (454, 50), (454, 226), (26, 226)),)
    shapes: list[Shape] = [Polyline(outline, parts.EDGE, closed=True, name="cover")]
    shapes.append(parts.rectangle(84, 96, 396, 180, parts.FINE, "raised field"))
    for number in range(8):
        x, y = 64 + number % 4 * 117.3, 76 + number // 4 * 124
        hexagon = tuple(sketch.around((x, y), 20, 0, 300)[::10])
        shapes += [
            Polyline(hexagon, parts.EDGE, closed=True, name=f"bolt {number + 1}"),
            Circle((x, y), 14, sketch.PLATE),
            Label((x, y + 6), str(number + 1), 16, bold=True),
        ]
    return Scene(parts.WIDTH, 276, tuple(shapes), ALT)
