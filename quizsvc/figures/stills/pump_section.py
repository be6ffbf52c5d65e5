"""A coolant pump cut along its shaft; and the outside of two pumps that have let coolant by."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import Circle, Ink, Lines, Point, Polyline, Scene, Shape, Style
from quizsvc.figures.stills import sketching as sketch

AXIS = 160.0


SECTION_ALT = (
    "Section of a coolant pump along its shaft. From left to right: a pulley in the open air, a "
    "bearing in the housing, a drilling that leads down and out of the housing, a sliding seal, "
    "the flange with its gasket against the block, and an impeller in coolant."
)
TRACES_ALT = (
    "Two coolant pumps, A and B, seen from the side, each with a small hole low in its housing. "
    "Below the hole of A is a short, thin, dry streak that ends on the housing. Below the hole of "
    "B a broad wet band runs down; drops hang at its end, and a puddle lies underneath."
)


def section() -> Scene:
    shapes = [*_coolant(), *_housing(), *_shaft(), *_inside(), *_names()]
    return Scene(parts.WIDTH, 330, tuple(shapes), SECTION_ALT)


def _coolant() -> list[Shape]:
    return [
        parts.rectangle(316, 62, 452, 258, Style(Ink.NONE, Ink.SHADE), "coolant"),
        parts.rectangle(254, 112, 318, 208, Style(Ink.NONE, Ink.SHADE), "coolant"),
    ]


def _housing() -> list[Shape]:
    return [
        *sketch.cut(126, 84, 312, 112, "housing"),
        *sketch.cut(126, 208, 312, 236, "housing"),
        parts.rectangle(226, 204, 238, 240, Style(Ink.NONE, Ink.PAPER), "drilling"),
        *sketch.cut(300, 24, 316, 112, "flange"),
        *sketch.cut(300, 208, 316, 296, "flange"),
        parts.rectangle(316, 24, 326, 62, sketch.RUBBER, "gasket"),
        parts.rectangle(316, 258, 326, 296, sketch.RUBBER, "gasket"),
        *sketch.cut(326, 24, 462, 62, "block"),
        *sketch.cut(326, 258, 462, 296, "block"),
    ]


def _shaft() -> list[Shape]:
    return [
        parts.rectangle(56, AXIS - 12, 404, AXIS + 12, parts.EDGE, "shaft"),
        parts.rectangle(54, 76, 80, 244, parts.EDGE, "pulley"),
        parts.rectangle(380, 84, 406, 236, parts.EDGE, "impeller"),
        Lines((((30, AXIS), (430, AXIS)),), parts.CENTRE_LINE),
    ]


def _inside() -> list[Shape]:
    shapes: list[Shape] = [
        Circle((x, y), 13, parts.EDGE, name="bearing")
        for x in (146, 186)
        for y in (AXIS - 30, AXIS + 30)
    ]
    for top, bottom in ((112, AXIS - 12), (AXIS + 12, 208)):
        shapes.append(parts.rectangle(250, top, 262, bottom, parts.EDGE, "seal ring"))
        shapes.append(parts.rectangle(262, top + 4, 276, bottom - 4, sketch.RUBBER, "seal"))
    return shapes


def _names() -> list[Shape]:
    return [
        sketch.word("open air", (106, 40)),
        sketch.word("coolant", (328, 197)),
        sketch.word("block", (394, 50)),
    ]


def traces() -> Scene:
    shapes = [*_outside(126), *_outside(354), sketch.title("A", (126, 32))]
    shapes += [sketch.title("B", (354, 32)), *_streak(126), *_run(354)]
    return Scene(parts.WIDTH, 340, tuple(shapes), TRACES_ALT)


def _outside(x: float) -> list[Shape]:
    return [
        parts.rectangle(x - 86, 60, x + 86, 84, parts.EDGE, "flange"),
        parts.rectangle(x - 58, 84, x + 58, 190, parts.EDGE, "housing"),
        parts.rectangle(x - 70, 236, x + 70, 262, parts.EDGE, "pulley"),
        parts.rectangle(x - 10, 190, x + 10, 236, parts.EDGE, "shaft"),
        Circle((x + 28, 130), 5, Style(Ink.LINE, Ink.LINE), name="weep hole"),
    ]


def _streak(x: float) -> list[Shape]:
    dry = Style(Ink.FAINT, Ink.SHADE, parts.FINE.weight)
    points = ((x + 25, 136), (x + 31, 136), (x + 30, 158), (x + 28, 164), (x + 26, 158))
    return [Polyline(points, dry, closed=True, name="dry streak")]


def _run(x: float) -> list[Shape]:
    band = (
        (x + 20, 136),
        (x + 36, 136),
        (x + 40, 172),
        (x + 39, 190),
        (x + 15, 190),
        (x + 15, 172),
    )
    return [
        Polyline(band, sketch.WET, closed=True, name="wet band"),
        *(Circle((x + 27, y), 5, sketch.WET, name="drop") for y in (202, 222, 280)),
        Polyline(tuple(_puddle((x + 20, 312))), sketch.WET, closed=True, name="puddle"),
    ]


def _puddle(centre: Point) -> list[Point]:
    return [
        (centre[0] + (x - centre[0]) * 1.0, centre[1] + (y - centre[1]) * 0.16)
        for x, y in sketch.around(centre, 62, 0, 354)
    ]
