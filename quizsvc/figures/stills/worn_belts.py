"""Four pieces of removed timing belts, seen on their toothed side."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Lines, Point, Polyline, Scene, Shape, Style
from quizsvc.figures.stills import sketching as sketch

LEFT, RIGHT, WIDE = 64.0, 452.0, 62.0
PITCH = 22.0
ROWS = (30.0, 122.0, 214.0, 306.0)
BELT = Style(parts.EDGE.stroke, sketch.RUBBER.fill)
TOOTH = parts.FINE_EDGE

ALT = (
    "Four pieces of timing belts, toothed side up, A to D from above. A has its lower edge frayed "
    "all along, teeth and upper edge whole. B lacks the teeth over a short length and is whole "
    "elsewhere. C shows many fine cracks across, all along. D is torn straight across; on both "
    "sides of the tear it looks like new."
)


def draw() -> Scene:
    shapes: list[Shape] = []
    pieces = (_frayed, _sheared, _cracked, _torn)
    for letter, top, piece in zip("ABCD", ROWS, pieces, strict=True):
        shapes += [*piece(top), *sketch.plate(letter, (30, top + WIDE / 2))]
    return Scene(parts.WIDTH, 396, tuple(shapes), ALT)


def _teeth(top: float, *, start: float = LEFT, end: float = RIGHT) -> list[Shape]:
    count = int((end - start) / PITCH)
    return [
        parts.rectangle(
            start + 5 + PITCH * n, top, start + 16 + PITCH * n, top + WIDE, TOOTH, "tooth"
        )
        for n in range(count)
    ]


def _strip(top: float, left: float = LEFT, right: float = RIGHT) -> Shape:
    return parts.rectangle(left, top, right, top + WIDE, BELT, "belt")


def _frayed(top: float) -> list[Shape]:
    """Draw threads hanging from the lower edge; their lengths follow a fixed pattern."""
    threads = []
    x, number = LEFT + 3, 0
    while x < RIGHT:
        length = (14, 8, 18, 11, 6, 16)[number % 6]
        lean = (3, -2, 4, -4, 1)[number % 5]
        threads.append(((x, top + WIDE - 6), (x + lean, top + WIDE - 4 + length)))
        x, number = x + 5, number + 1
    return [_strip(top), *_teeth(top), Lines(tuple(threads), parts.FINE, "frayed edge")]


def _sheared(top: float) -> list[Shape]:
    gap = (LEFT + 6 * PITCH, LEFT + 10 * PITCH)
    stumps: list[tuple[Point, ...]] = [
        ((gap[0] + 8 + PITCH * n, top + 3), (gap[0] + 12 + PITCH * n, top + WIDE - 3))
        for n in range(4)
    ]
    return [
        _strip(top),
        *_teeth(top, end=gap[0]),
        *_teeth(top, start=gap[1]),
        Lines(tuple(stumps), parts.HIDDEN, "sheared teeth"),
    ]


def _cracked(top: float) -> list[Shape]:
    cracks: list[tuple[Point, ...]] = []
    for number in range(int((RIGHT - LEFT) / PITCH)):
        x = LEFT + 19 + PITCH * number
        bend = (2, -2, 3)[number % 3]
        ys = (2, 15, 27, 44, 60)
        xs = (0, bend, -1, 1.5, -bend)
        cracks.append(tuple((x + dx, top + dy) for dx, dy in zip(xs, ys, strict=True)))
    return [_strip(top), *_teeth(top), Lines(tuple(cracks), parts.OPEN_EDGE, "cracks")]


def _torn(top: float) -> list[Shape]:
    middle = LEFT + 8 * PITCH
    edge = [(middle + (3, -3)[n % 2], top + WIDE * n / 8) for n in range(9)]
    left = ((LEFT, top), *edge, (LEFT, top + WIDE))
    right = ((RIGHT, top), *((x + 26, y) for x, y in edge), (RIGHT, top + WIDE))
    return [
        Polyline(left, BELT, closed=True, name="belt"),
        Polyline(right, BELT, closed=True, name="belt"),
        *_teeth(top, end=middle - 6),
        *_teeth(top, start=middle + 30),
    ]
