"""A hydraulic ratchet tensioner cut open, with or without letters on its parts."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Arrow,
    Circle,
    Ink,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)
from quizsvc.figures.stills import sketching as sketch

TOP, BORE_TOP, BORE_BOTTOM, BOTTOM = 112.0, 142.0, 218.0, 248.0
MIDDLE = (BORE_TOP + BORE_BOTTOM) / 2
NOTCHES, NOTCH = 7, 14.0
FIRST_NOTCH = 232.0


ALT = (
    "Section of a tensioner. Oil enters from below into a small chamber on the left. A ball on a "
    "seat lies between that chamber and the bore. A hollow plunger reaches from the bore to the "
    "right, out to a guide; a coil spring lies inside it. The plunger's upper side has saw-tooth "
    "notches, and a small lever on the body rests in one of them."
)
_LETTERED = " Five parts carry the letters A to E."


def plain() -> Scene:
    return Scene(parts.WIDTH, 320, tuple(_shapes()), ALT)


def lettered() -> Scene:
    places = {
        "A": ((106.0, 60.0), (106.0, MIDDLE - 8)),
        "B": ((190.0, 288.0), (190.0, MIDDLE + 14)),
        "C": ((320.0, 60.0), (278.0, 122.0)),
        "D": ((372.0, 288.0), (372.0, MIDDLE + 20)),
        "E": ((30.0, 212.0), (70.0, 240.0)),
    }
    shapes = _shapes()
    for letter, (at, part) in places.items():
        shapes += [sketch.lead(at, part), *sketch.plate(letter, at)]
    return Scene(parts.WIDTH, 320, tuple(shapes), ALT + _LETTERED)


def _shapes() -> list[Shape]:
    return [*_body(), *_plunger(), *_valve(), *_ratchet(), *_guide(), *_oil()]


def _body() -> list[Shape]:
    return [
        *sketch.cut(50, TOP, 330, BORE_TOP, "body"),
        *sketch.cut(50, BORE_BOTTOM, 330, BOTTOM, "body"),
        *sketch.cut(50, BORE_TOP, 62, BORE_BOTTOM, "body"),
        parts.rectangle(62, BORE_TOP, 330, BORE_BOTTOM, Style(Ink.LINE, Ink.PAPER)),
        # The drilling for oil breaks through the lower wall, the pawl's window through the upper.
        parts.rectangle(64, BORE_BOTTOM - 1, 78, BOTTOM + 1, Style(Ink.NONE, Ink.PAPER)),
        parts.rectangle(258, TOP - 1, 312, BORE_TOP + 1, Style(Ink.NONE, Ink.PAPER)),
    ]


def _plunger() -> list[Shape]:
    """Draw a hollow plunger, open to the left, with notches along its upper side."""
    upper, lower = BORE_TOP + 6, BORE_BOTTOM - 6
    saw: list[Point] = [(150, upper)]
    for notch in range(NOTCHES):
        x = FIRST_NOTCH + notch * NOTCH
        # Steep on the right: pushed in, to the left, the plunger stops at the pawl.
        saw += [(x, upper), (x + NOTCH - 1, upper + 8), (x + NOTCH - 1, upper)]
    saw += [(404, upper), (404, lower), (150, lower)]
    inner = ((150, lower - 12), (356, lower - 12), (356, upper + 18), (150, upper + 18))
    return [
        Polyline(tuple(saw), parts.EDGE, closed=True, name="plunger"),
        Polyline(inner, Style(Ink.LINE, Ink.PAPER), closed=True),
        sketch.spring((122, MIDDLE), 232, 15, 11),
    ]


def _valve() -> list[Shape]:
    seat = Style(Ink.LINE, Ink.SHADE, Weight.THIN)
    return [
        parts.rectangle(86, BORE_TOP, 98, MIDDLE - 7, seat),
        parts.rectangle(86, MIDDLE + 7, 98, BORE_BOTTOM, seat),
        Circle((106, MIDDLE), 11, parts.EDGE, name="ball"),
        Polyline(((122, MIDDLE - 18), (122, MIDDLE + 18)), parts.OPEN_EDGE),
    ]


def _ratchet() -> list[Shape]:
    """Draw the pawl, pressed along its length by a plunger that is pushed in."""
    x, y = FIRST_NOTCH + 4 * NOTCH - 2, BORE_TOP + 13
    pawl = ((264, 98), (272, 106), (x, y - 12), (x, y), (x - 10, y - 4), (260, 112), (256, 104))
    return [
        Polyline(pawl, parts.EDGE, closed=True, name="pawl"),
        Circle((264, 106), 4, Style(Ink.LINE, Ink.PAPER)),
    ]


def _guide() -> list[Shape]:
    face = sketch.bowed((413, 56), (413, 304), -9)
    back = [(x + 16, y) for x, y in reversed(face)]
    return [
        Polyline((*face, *back), sketch.RUBBER, closed=True, name="guide"),
        sketch.word("guide", (452, 56)),
    ]


def _oil() -> list[Shape]:
    style = Style(Ink.COOL)
    return [
        Arrow((71, 304), (71, 228), style, name="oil"),
        sketch.word("oil in", (84, 308), Anchor.START, Ink.COOL),
    ]
